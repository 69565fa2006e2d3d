"""Greedy dispatch as the parallel schedule-generation scheme, on a published instance, exactly.

Oracle: makespans and start times from two independent implementations of the scheme (one plain, one on
another event simulator) that agree on 480 instances; optimum as published and re-proved by constraint
programming. Sources: R. Kolisch & A. Sprecher 1996, PSPLIB, European Journal of Operational Research 96:
205-216; R. Kolisch 1996, Serial and parallel resource-constrained project scheduling methods revisited,
European Journal of Operational Research 90: 320-333, and Journal of Operations Management 14: 179-192;
optima: E. Demeulemeester & W. Herroelen 1995 (citations from memory). The instance file carries its own
licence.
"""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from run_instances import main

from support.drawn import drawn
from support.feasibility import check
from support.instances import RULES, Instance, ranks, read_sm
from towerpace.draws import stream
from towerpace.engine.reference import run
from towerpace.plan.network import network

DATA = Path(__file__).parent / "data"
LFT_STARTS = "0 4 0 0 9 31 4 4 12 6 12 13 4 16 12 13 23 10 13 26 29 29 36 38 33 21 15 33 19 41 36 43"
MAKESPANS = {
    "LFT": (43, 48),
    "MTS": (43, 47),
    "SLK": (43, 46),
    "SPT": (45, 56),
    "FIFO": (61, 58),
}
OPTIMUM = 43


@pytest.fixture(scope="module")
def published() -> Instance:
    return read_sm(DATA / "j301_1.sm")


def dispatched(instance: Instance, rule: str, *, in_line: bool = False):
    """The diary of one rule, possible by the independent judge."""
    plan = instance.plan(rule, in_line=in_line)
    diary = run(plan)
    assert check(plan, drawn(plan), diary) == []
    return diary


def test_reader_finds_the_jobs_of_the_published_file(published):
    """Read off the file by eye: 32 jobs, 12 13 4 12 units, job 20 lasts 7 and needs 10 of R2, after 5, 11,
    18.
    """
    assert len(published.work) == 32
    assert published.capacity == (12, 13, 4, 12)
    assert published.work[19] == 7
    assert published.needs[19] == (0, 10, 0, 0)
    assert published.after[19] == (4, 10, 17)
    assert sum(published.work) == 158
    assert sum(len(before) for before in published.after) == 48


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("PRECEDENCE RELATIONS:", "RELATIONS:", "no section 'PRECEDENCE RELATIONS:'"),
        ("  5      1     3       3    0    0    0\n", "", "not numbered"),
        ("  5      1     3       3    0    0    0\n", "  5      1     3       3    0    0\n", "4 requests"),
    ],
)
def test_reader_refuses_a_damaged_file(tmp_path, old, new, said):
    damaged = tmp_path / "damaged.sm"
    text = (DATA / "j301_1.sm").read_text()
    assert text.count(old) == 1
    damaged.write_text(text.replace(old, new))
    with pytest.raises(ValueError, match=said):
        read_sm(damaged)


def test_published_instance_has_its_published_bounds(published, stand):
    """CPM 38 stands in the file itself as MPM-Time; energy bound 25 recomputed."""
    got = network(published.without_pools()).length, published.energy_bound()
    stand("j301_1: length without resources, energy bound", "PSPLIB, file", expected=(38, 25), got=got)


def test_latest_finish_first_starts_every_job_when_the_scheme_does(published, stand):
    """32 start times, exact."""
    diary = dispatched(published, "LFT")
    assert " ".join(str(t) for t in diary.started) == LFT_STARTS
    equal = sum(a == int(b) for a, b in zip(diary.started.tolist(), LFT_STARTS.split(), strict=True))
    source = "PSPLIB, two independent implementations"
    stand("latest finish first, job by job, starts of j301_1 equal, of 32", source, expected=32, got=equal)
    stand("latest finish first on j301_1, its optimum", source, expected=OPTIMUM, got=diary.finish)


@pytest.mark.parametrize("in_line", [False, True])
def test_every_rule_and_discipline_has_the_expected_makespan(published, in_line, stand):
    """Whatever fits starts (pools without a line), or all four pools stand on one line; exact."""
    expected = [MAKESPANS[rule][in_line] for rule in RULES]
    got = [dispatched(published, rule, in_line=in_line).finish for rule in RULES]
    how = "all resources in one line" if in_line else "whatever fits starts"
    check = f"j301_1 by rules {', '.join(RULES)}, {how}"
    stand(check, "two independent implementations", expected=expected, got=got)
    assert min(got) >= OPTIMUM


def random_instance(number: int) -> Instance:
    """10 to 30 jobs on 1 to 4 resources."""
    rng = stream(1996, number, "random instance")
    n, resources = int(rng.integers(10, 31)), int(rng.integers(1, 5))
    after = tuple(tuple(i for i in range(max(0, j - 6), j) if rng.random() < 0.3) for j in range(n))
    needs = np.where(rng.random((n, resources)) < 0.5, rng.integers(1, 11, (n, resources)), 0)
    capacity = rng.integers(10, 16, resources)
    return Instance(
        tuple(rng.integers(1, 11, n).tolist()),
        after,
        tuple(map(tuple, needs.tolist())),
        tuple(capacity.tolist()),
    )


def peak_of(instance: Instance, start) -> tuple[int, ...]:
    """Most units of each resource in use at once if every job starts at the given time."""
    use = np.zeros((int(start.max()) + max(instance.work) + 1, len(instance.capacity)), dtype=int)
    for s, d, u in zip(start.tolist(), instance.work, instance.needs, strict=True):
        use[s : s + d] += u
    return tuple(np.maximum(use.max(axis=0), 1).tolist())


def test_no_makespan_beats_the_network_or_the_work_of_any_resource(stand):
    """max(CPM, work over units) <= makespan <= all works in a row; 40 random instances, rules and
    disciplines.

    The lower bounds are those of any text on resource-constrained scheduling (common practice, no source).
    """
    over = within = 0
    for number in range(40):
        instance = random_instance(number)
        bound = max(network(instance.without_pools()).length, instance.energy_bound())
        for rule in RULES:
            for in_line in (False, True):
                finish = dispatched(instance, rule, in_line=in_line).finish
                assert bound <= finish <= sum(instance.work)
                within += bound <= finish <= sum(instance.work)
                over += finish > bound
    assert over > 200
    check = "random instances, rules and lines, of 400 makespans within their bounds"
    stand(check, "common practice, no source", expected=400, got=within)


@pytest.mark.parametrize("in_line", [False, True])
def test_resources_enough_for_the_earliest_starts_leave_the_network_alone(in_line):
    """Resource strength 1 in the sense of Kolisch & Sprecher: every rule gives every job its earliest start.

    With one unit less of some resource the earliest starts do not fit, so some job must start later.
    """
    for number in range(40):
        instance = random_instance(number)
        earliest = network(instance.without_pools()).earliest_start
        peak = peak_of(instance, earliest)
        ample = Instance(instance.work, instance.after, instance.needs, peak)
        for rule in RULES:
            assert dispatched(ample, rule, in_line=in_line).started.tolist() == earliest.tolist()
        short = Instance(instance.work, instance.after, instance.needs, (peak[0] - 1, *peak[1:]))
        if max(u[0] for u in instance.needs) < peak[0]:
            assert dispatched(short, "LFT", in_line=in_line).started.sum() > earliest.sum()


def test_line_makes_a_wide_job_hold_back_the_narrow_ones():
    """By hand: 2 of 3 units are taken for 5, a job of 2 is next; a job of 1 behind it starts at 0 or at 5."""
    instance = Instance((5, 4, 9), ((), (), ()), ((2,), (2,), (1,)), (3,))
    assert [int(t) for t in dispatched(instance, "FIFO").started] == [0, 5, 0]
    assert [int(t) for t in dispatched(instance, "FIFO", in_line=True).started] == [0, 5, 5]


def test_ranks_of_a_small_network_are_those_worked_by_hand():
    """1 (2) then 2 (3) and 3 (1), both before 4 (4); 5 (1) alone: length 9."""
    instance = Instance((2, 3, 1, 4, 1), ((), (0,), (0,), (1, 2), ()), ((0,),) * 5, (1,))
    assert ranks(instance, "LFT") == [2, 5, 5, 9, 9]
    assert ranks(instance, "LST") == [0, 2, 4, 5, 8]
    assert ranks(instance, "SLK") == [0, 0, 2, 0, 8]
    assert ranks(instance, "MTS") == [-3, -1, -1, 0, 0]
    assert ranks(instance, "SPT") == [2, 3, 1, 4, 1]


def table(folder: Path, *, par_lft: int = 43, inst: int = 1) -> Path:
    """A table of expected makespans for the fixture, as they are published for 320 instances."""
    words = ["set", "inst", "opt"] + [f"{kind}_{rule}" for rule in RULES for kind in ("par", "ser", "blk")]
    cells = ["1", str(inst), "43"]
    for rule in RULES:
        skipping, in_line = MAKESPANS[rule]
        cells += [str(par_lft if rule == "LFT" else skipping), "49", str(in_line)]
    path = folder / "expected.csv"
    path.write_text(",".join(words) + "\n" + ",".join(cells) + "\n")
    return path


def test_comparison_of_a_folder_passes_on_the_fixture(tmp_path):
    """As a user calls it, in a process of its own."""
    script = Path(__file__).parent / "run_instances.py"
    command = [sys.executable, str(script), str(DATA), str(table(tmp_path))]
    done = subprocess.run(command, capture_output=True, text=True, cwd=tmp_path, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert "par_LFT          1/1       43        43" in done.stdout
    assert "1 instances, 0 differences" in done.stdout


def test_comparison_of_a_folder_names_what_differs(tmp_path, capsys):
    assert main([str(DATA), str(table(tmp_path, par_lft=42))]) == 1
    out = capsys.readouterr().out
    assert "j301_1.sm par_LFT: 43, expected 42" in out
    assert "1 differences" in out


def test_comparison_of_a_folder_refuses_what_it_cannot_read(tmp_path, capsys):
    assert main([str(DATA), str(table(tmp_path, inst=2))]) == 2
    assert "1 of 1 instances missing: j301_2.sm" in capsys.readouterr().err
    assert main([str(DATA), str(tmp_path / "nothing.csv")]) == 2
    assert main([str(DATA)]) == 2
