"""Hostile files with fixed seeds: refused with faults that name their place, or answered; nothing else."""

import json
import tomllib
from functools import partial
from pathlib import Path

import pytest

from support import attacked, wharf_in_small
from support.attacked_files import STUDY
from support.attacks import arenas
from support.command_line import towerpace
from support.dice import Dice
from support.hostile_values import REMARKS, slots
from support.site_record import LEVELS, MORE, TOML
from support.toml_text import toml_text
from towerpace import check, load, load_study, sweep
from towerpace.faults import InputError
from towerpace.plan.site import steps_ahead
from towerpace.render.saved.answer_file import load_saved
from towerpace.scenario.vocabulary import vocabulary

# As many of each as take a second or two; the bench carries out thousands.
CASES = {
    "keys of the scenario": 8,
    "text of the scenario": 60,
    "table of levels": 60,
    "weather record": 4,
    "sheet, log and wind": 20,
    "dates of one's own": 20,
    "study file": 15,
    "folder of a study": 10,
    "results folder": 4,
    "promises and forecast": 8,
    "results to be marked": 2,
    "results to go on from": 2,
    "requests of the page": 8,
    "other questions": 6,
    "event logs": 5,
}


@pytest.fixture(scope="module")
def attacks(tmp_path_factory):
    attacked.compiled_once()
    return arenas(tmp_path_factory.mktemp("attacked"))


@pytest.mark.parametrize("arena", CASES)
def test_what_is_attacked_is_refused_with_its_place_or_answered(arena, attacks):
    ends = [attacked.end_of(partial(attacks[arena], Dice(number))) for number in range(CASES[arena])]
    wrong = {number: end for number, end in enumerate(ends) if end.what in attacked.NEVER}
    assert not wrong
    assert any(end.what == attacked.REFUSED for end in ends)


def test_every_attack_is_on_the_list(attacks):
    assert attacks.keys() == CASES.keys()


def test_every_key_is_attacked_but_for_remarks_deep_inside():
    attacked_keys = {".".join(slot.path).replace(".[]", "[]") for slot in slots()}
    keys = {key.name for key in vocabulary() if key.last not in REMARKS}
    assert keys - attacked_keys == set()


@pytest.mark.parametrize("name", ["x" * 300, "x" * 40_000, "folder/" * 3000])
def test_a_name_that_no_file_can_have_is_a_fault(tmp_path, name):
    samples = {"samples": name, "column": "minutes"}
    with pytest.raises(InputError, match=r"no file can have|missing folder"):
        load(wharf(tmp_path, {"hoist/load_min": samples}))


def test_a_command_without_sense_leaves_no_traceback(tmp_path):
    (tmp_path / "scenario.toml").write_bytes(b"\x00\xff[tower")
    run = towerpace("check", tmp_path / "scenario.toml")
    assert run.returncode == 2
    assert "Traceback" not in run.stderr
    assert "scenario.toml: 1 fault" in run.stderr


def wharf(folder: Path, changes):
    """The small wharf without its set-ups, with some keys of tables replaced."""
    path = wharf_in_small.write(folder)
    tree = {k: v for k, v in tomllib.loads(path.read_text()).items() if k not in ("setup", "candidate")}
    for key, value in changes.items():
        table = tree
        *above, last = key.split("/")
        for part in above:
            table = table.setdefault(part, {})
        table[last] = value
    path.write_text(toml_text(tree), encoding="utf-8", newline="")
    return path


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"trade/joints/coats": 100_000, "trade/joints/drying_h": 1}, "trade.joints.coats"),
        ({"resource/hoist/count": 20_000}, "resource.hoist.breakdown"),
    ],
)
def test_what_makes_too_many_steps_is_refused_by_its_key_before_they_are_written(tmp_path, changes, key):
    with pytest.raises(InputError, match="a plan of at most 1,000,000 steps") as refused:
        check(load(wharf(tmp_path, changes)))
    assert key in {fault.key for fault in refused.value.faults}
    assert all(fault.line for fault in refused.value.faults)


def test_a_plan_of_far_too_many_steps_is_refused_after_its_first_fronts(tmp_path, monkeypatch):
    """The table alone says too little: how many steps a panel makes is seen when some are written."""
    monkeypatch.setattr(steps_ahead, "MOST_STEPS", 500)
    looked_at = []
    look = steps_ahead.StepsAhead.look
    monkeypatch.setattr(steps_ahead.StepsAhead, "look", lambda *a: (looked_at.append(a), look(*a)))
    path = wharf(tmp_path, {"trade/joints/coats": 9})  # a plan of which this process has no steps yet
    with pytest.raises(InputError, match=r"what makes about \d+\.\d million steps") as refused:
        check(load(path))
    (fault,) = refused.value.faults
    assert (fault.key, fault.line is None) == ("tower.levels", False)
    assert len(looked_at) < 3


def test_a_plan_is_not_foretold_larger_than_what_grows_least(tmp_path, monkeypatch):
    """A first front of nearly all panels says nothing of those without: what the bound allows stays."""
    path = wharf(tmp_path, {})
    header, first, *others = (tmp_path / "levels.csv").read_text(encoding="utf-8").splitlines()
    columns = header.split(",")
    panels = [columns.index(name) for name in ("flat", "corner", "curved", "leave_outs")]
    rows = [row.split(",") for row in others]
    for row in rows:
        for column in panels:
            row[column] = "0"
    table = "\n".join([header, first, *map(",".join, rows), ""])
    (tmp_path / "levels.csv").write_text(table, encoding="utf-8")
    steps = check(load(path)).detail.steps
    monkeypatch.setattr(steps_ahead, "MOST_STEPS", steps)
    wharf(tmp_path, {"tower/name": "again"})  # a plan of which this process has no steps yet
    (tmp_path / "levels.csv").write_text(table, encoding="utf-8")
    assert check(load(path)).detail.steps == steps


@pytest.mark.parametrize("name", ['a"b', "back\\slash", "two\nlines", '=HYPERLINK("x")', "zone.1", "\x01"])
def test_a_set_up_names_anything_in_quotes(tmp_path, name):
    with pytest.raises(InputError) as refused:
        check(load(wharf(tmp_path, {"setup/odd": {"activity": {name: {"lifts": 3}}}})))
    assert all(fault.line for fault in refused.value.faults)


@pytest.fixture(scope="module")
def studied(tmp_path_factory):
    folder = tmp_path_factory.mktemp("studied")
    (folder / "levels.csv").write_text(LEVELS, encoding="utf-8")
    (folder / "scenario.toml").write_text(TOML + MORE, encoding="utf-8")
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    sweep(folder / "study.toml", folder=folder / "out")
    return folder


@pytest.mark.parametrize("text", ["", "point\n1\n", "point,share\n1," + "x" * 200_000, None])
def test_damaged_points_of_a_study_are_a_fault_of_their_file(studied, text):
    points = studied / "out" / "points.csv"
    whole = points.read_bytes()
    try:
        points.unlink() if text is None else points.write_text(text, encoding="utf-8")
        with pytest.raises(InputError, match=r"points\.csv"):
            sweep(studied / "study.toml", folder=studied / "out")
    finally:
        points.write_bytes(whole)


def test_a_damaged_table_of_a_study_is_a_fault_and_written_anew(studied):
    table, dictionary = studied / "out" / "study.csv", studied / "out" / "columns.csv"
    whole = table.read_bytes(), dictionary.read_bytes()
    table.write_text("point,gangs\n1,2\n", encoding="utf-8")
    dictionary.write_text("nothing\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"study\.csv: 1 fault\n  table: found damaged: other columns"):
        load_study(studied / "out")
    sweep(studied / "study.toml", folder=studied / "out")
    assert (table.read_bytes(), dictionary.read_bytes()) == whole


def test_a_part_with_a_number_that_no_column_holds_is_played_again(studied):
    part = studied / "out" / "parts" / "point-1.csv"
    whole = part.read_text(encoding="utf-8")
    part.write_text(whole.replace(",2,", f",{10**400},", 1), encoding="utf-8", newline="")
    assert part.read_text(encoding="utf-8") != whole
    sweep(studied / "study.toml", folder=studied / "out")
    assert part.read_text(encoding="utf-8") == whole


def test_an_answer_whose_facts_somebody_spoilt_is_a_fault_of_its_file(studied, tmp_path):
    folder = check(load(studied / "scenario.toml")).save(tmp_path / "out")
    answer = folder / "answer.json"
    text = answer.read_text(encoding="utf-8")
    saved = load_saved(folder).answer
    fact = next(fact for fact in saved.facts if isinstance(fact.value, int))
    spoilt = json.loads(text)
    place = next(f for f in spoilt["described"]["facts"] if f["column"]["name"] == fact.column.name)
    place["value"] = "scenario.toml"
    answer.write_text(json.dumps(spoilt), encoding="utf-8")
    with pytest.raises(InputError, match=r"answer\.json"):
        load_saved(folder)


def test_a_column_without_a_name_is_called_so(studied):
    dates = studied / "dates.csv"
    dates.write_text("what,,level,zone,done\nfinish,,,,2027-06-01\n", encoding="utf-8")
    run = towerpace("baseline", studied / "scenario.toml", "--dates", dates, "--trials", 1)
    assert run.returncode == 2
    assert "line 1  a column without a name: found an unknown column" in run.stderr
