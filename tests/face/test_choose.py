"""What to decide, asked from Python and from the command line, on a short tower of thirty set-ups."""

import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from matplotlib.text import Text

import towerpace
from support.command_line import towerpace as run_command
from support.open_tower import write_open_tower
from support.short_tower import ONE_HOIST
from towerpace.answers.choose.keeping import Kept
from towerpace.answers.choose.played import Played
from towerpace.faults import InputError
from towerpace.scenario.setups import named_setup
from towerpace.trials.cluster import Cluster

ASKED = {"by": date(2027, 3, 12), "confidence": 0.8, "fresh": 100, "trials": 1500, "seed": 3}


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return write_open_tower(tmp_path_factory.mktemp("open"))


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    return tmp_path_factory.mktemp("kept") / "played.jsonl"


@pytest.fixture(scope="module")
def chosen(path, kept):
    return towerpace.choose(towerpace.load(path), kept=kept, **ASKED)


def test_it_is_the_cheapest_of_all_that_are_shown_to_meet_the_date(chosen):
    """All thirty set-ups played on the same fresh draws, and the cheapest that does taken by hand."""
    opened = chosen.detail.opened
    trials = Played(opened, seed=3, kept=_nothing())
    due = chosen.detail.asked.goal.due
    cost = {}
    for point in opened.space.all():
        (sample,) = trials.results([point], [100], fresh=True)
        if np.mean(sample.finish <= due) >= 0.9:
            cost[point] = sample.mean_cost
    best = chosen.detail.best
    assert best in cost
    assert cost[best] <= min(cost.values()) + chosen.detail.matters


def _nothing():
    return Kept(None, of={})


def test_the_answer_says_what_to_do_and_what_it_costs(chosen):
    assert chosen.answer.fact("choice") in chosen.answer.said
    assert chosen.answer.said.startswith(
        "To finish by Fri 12 Mar 2027 with 80 % confidence at the least cost: "
    )
    gained = chosen.detail.against_file
    assert f"{-gained.days.mean:.1f} (" in chosen.answer.said
    table = chosen.frame("decisions").set_index("decision")
    for name, choice in table["choice"].items():
        assert (f"{name} = {choice}" in chosen.answer.fact("choice")) == (choice != table["file"][name])


def test_neighbours_are_all_set_ups_one_step_away(chosen):
    table = chosen.frame("neighbours")
    assert len(table) == len(chosen.detail.opened.space.neighbours(chosen.detail.best))
    assert table["verdict"].notna().all()
    own, due = chosen.detail.decision.proof.sample, chosen.detail.asked.goal.due
    shares = [float(np.mean(own.finish[:n] <= due)) for n in table["trials"]]
    assert table["chance_choice"].tolist() == shares


def test_the_figure_names_the_choice_and_nothing_is_cut_off(chosen):
    figure = chosen.plot()
    figure.canvas.draw()
    texts = [text for text in figure.findobj(Text) if text.get_text()]
    said = [text.get_text().replace("\n", " ") for text in texts]
    name = chosen.answer.fact("choice")
    assert f"The least cost for 12 Mar 2027 with 80 % confidence: {name}" in said
    place = chosen.frame("trade_off").set_index("setup").loc[name, "place"]
    assert f"{place}: {name} (the choice)" in said
    box = figure.bbox
    extents = [(text.get_text(), text.get_window_extent()) for text in figure.axes[0].texts]
    assert [text for text, e in extents if e.x0 < -2 or e.x1 > box.x1 + 2] == []


def test_no_kept_set_up_is_beaten_at_cost_and_p80(chosen):
    table = chosen.frame("trade_off").query("verdict.str.contains('kept')")
    assert len(table) >= 2
    assert table["cost"].is_monotonic_increasing
    assert table["p80"].is_monotonic_decreasing


def test_a_price_at_its_turn_makes_both_cost_the_same(path, kept):
    """The break-even of the gangs' price, laid over the file: then the two cost the same."""
    found = towerpace.choose(towerpace.load(path), kept=kept, **{**ASKED, "by": date(2027, 3, 17)}).detail
    turn = next(turn for turn in found.turns if turn.is_price and turn.what == "panel_gang")
    at, opened = "resource.panel_gang", found.opened
    rates = {f"{at}.cost_per_day": 800 * turn.at, f"{at}.cost_mobilise": 16000 * turn.at}
    costs = []
    for point in (found.best, turn.to):
        priced = towerpace.load(path, {**opened.changes(point), **rates})
        dear = replace(opened, scenario=priced)
        (sample,) = Played(dear, seed=3, kept=_nothing()).results([opened.space.standing], [100], fresh=True)
        costs.append(sample.mean_cost)
    assert costs[0] == pytest.approx(costs[1], rel=1e-3)


def test_what_is_kept_is_not_played_again_and_gives_the_same_answer(chosen, path, kept):
    text = kept.read_text(encoding="utf-8")
    played = []
    again = towerpace.choose(towerpace.load(path), kept=kept, on_done=played.append, **ASKED)
    assert played == []
    assert again.to_json() == chosen.to_json()
    assert kept.read_text(encoding="utf-8") == text


def test_a_search_that_is_cut_short_keeps_the_best_so_far_and_goes_on(chosen, path, tmp_path):
    """Ctrl-C after some trials, with a line torn off: what follows is the whole answer."""
    file, counted = tmp_path / "played.jsonl", []

    def stop(n):
        counted.append(n)
        if sum(counted) > 700:
            raise KeyboardInterrupt

    part = towerpace.choose(towerpace.load(path), kept=file, on_done=stop, **ASKED)
    assert f"kept in {file}" in part.interrupted
    assert part.answer.cautions[0] == f"Interrupted: {part.interrupted}."
    assert "best so far: " in part.answer.said
    text = file.read_text(encoding="utf-8")
    file.write_text(text[:-30], encoding="utf-8")
    whole = towerpace.choose(towerpace.load(path), kept=file, **ASKED)
    assert whole.interrupted == ""
    assert whole.to_json() == chosen.to_json()


@pytest.mark.usefixtures("chosen")
def test_a_file_of_another_seed_is_refused(path, kept):
    with pytest.raises(InputError, match="kept: seed: found 3; allowed: 4, or another file"):
        towerpace.choose(towerpace.load(path), kept=kept, **{**ASKED, "seed": 4})


@pytest.mark.slow
def test_a_cluster_gives_the_same_numbers(path, chosen):
    """Its workers get the files of the scenario packed up, and the set-ups as changes."""
    distributed = pytest.importorskip("distributed", reason="an extra: many machines")
    # Two threads of one worker: trials of several set-ups are played side by side.
    alike = {"n_workers": 1, "threads_per_worker": 2, "dashboard_address": ":0", "silence_logs": 50}
    made = distributed.LocalCluster(processes=False, **alike)
    with made, distributed.Client(made) as client:
        again = towerpace.choose(towerpace.load(path), executor=Cluster(client), **ASKED)
    assert again.to_json() == chosen.to_json()


@pytest.mark.slow
def test_processes_of_a_cluster_give_the_same_numbers(path, chosen, tmp_path):
    """Two workers that are processes of their own and see nothing of this one's memory, by the command."""
    pytest.importorskip("distributed", reason="an extra: many machines")
    asked = ("--by", "2027-03-12", "--fresh", 100, "--trials", 1500, "--seed", 3, "--json")
    run = run_command(
        "choose", path, *asked, "--cluster", "local", "--workers", 2, "--played", tmp_path / "played.jsonl"
    )
    assert run.returncode == 0, run.stderr
    printed, expected = json.loads(run.stdout), chosen.to_json()
    for key in ("said", "facts", "tables"):
        assert printed[key] == expected[key]


def test_somebody_elses_executor_gives_the_same_numbers(path, chosen):
    with ThreadPoolExecutor(2) as pool:
        again = towerpace.choose(towerpace.load(path), executor=pool, **ASKED)
    assert again.to_json() == chosen.to_json()


def test_the_command_line_prints_what_python_returns_and_keeps_it_in_the_file(chosen, kept, tmp_path):
    own = write_open_tower(tmp_path)
    asked = ("--by", "2027-03-12", "--fresh", 100, "--trials", 1500, "--seed", 3, "--workers", 1)
    run = run_command("choose", own, *asked, "--played", kept, "--keep", "as_chosen", "--json")
    assert run.returncode == 0, run.stderr
    printed, expected = json.loads(run.stdout), chosen.to_json()
    for key in ("said", "facts", "tables"):
        assert printed[key] == expected[key]
    assert dict(named_setup(towerpace.load(own), "as_chosen").changes) == chosen.changes


@pytest.fixture(scope="module")
def kept_file(tmp_path_factory, kept):
    """A file into which the command has kept its trade-off, and what it printed."""
    own = write_open_tower(tmp_path_factory.mktemp("trade_off"))
    asked = ("--fresh", 100, "--trials", 1500, "--seed", 3, "--workers", 1, "--played", kept)
    run = run_command("choose", own, *asked, "--keep", "trade_off", "--json")
    assert run.returncode == 0, run.stderr
    return own, json.loads(run.stdout)


def test_set_ups_of_a_trade_off_are_kept_under_the_numbers_of_its_table(kept_file):
    own, printed = kept_file
    rows = printed["tables"]["trade_off"]
    names = {f"trade_off_{row['place']}": row for row in rows if row["verdict"] == "kept"}
    tower = towerpace.load(own)
    assert list(tower.settings.setup)[-len(names) :] == list(names)
    assert len(names) >= 2
    decided = {one["decision"]: one["file"] for one in printed["tables"]["decisions"]}
    for name, row in names.items():
        changes = dict(named_setup(tower, name).changes)
        assert ("resource.hoist.count" in changes) == ("hoists = " in row["setup"])
        assert ("resource.panel_gang.count" in changes) == ("crews = " in row["setup"])
        assert len(row["setup"].split(", ")) <= len(decided)
        note = f"Number {row['place']} of the trade-off of cost against P80."
        assert tower.settings.setup[name]["note"] == note


def test_what_is_kept_plays_the_trials_of_the_search(kept_file, kept):
    """Forecast and comparison of a kept set-up, seed for seed the trials that the search played of it."""
    own, printed = kept_file
    tower = towerpace.load(own)
    names = [name for name in tower.settings.setup if name.startswith("trade_off_")]
    found = towerpace.choose(tower, kept=kept, fresh=100, trials=1500, seed=3)
    compared = towerpace.compare(tower, names, trials=20, seed=3)
    told = compared.frame("costs").set_index("setup")
    for name in names:
        setup = named_setup(tower, name)
        point = next(
            p for p in found.detail.visited.samples if found.detail.opened.changes(p) == setup.changes
        )
        sample = found.detail.visited.samples[point].first(20)
        alone = towerpace.forecast(tower, setup=name, trials=20, seed=3)
        assert alone.detail.finish.tolist() == sample.finish.tolist()
        assert told.loc[name, "cost"] == pytest.approx(sample.mean_cost)
    assert printed["facts"] == found.to_json()["facts"]


def test_a_name_that_is_taken_is_told_before_the_first_trial(kept_file):
    own, _ = kept_file
    before = own.read_text(encoding="utf-8")
    run = run_command("choose", own, "--keep", "trade_off", "--seed", 5)
    assert run.returncode == 2
    assert "name: found 'trade_off_" in run.stderr
    assert own.read_text(encoding="utf-8") == before


def test_the_answer_ends_with_a_command_that_says_what_to_know_first(kept_file, kept):
    """With the names under which the set-ups are kept it can be run as it stands."""
    own, _ = kept_file
    tower = towerpace.load(own)
    told = towerpace.choose(tower, kept=kept, fresh=100, trials=1500, seed=3)
    _, command = told.answer.chapters[-1].sentences
    first, second, *_ = told.set_ups("trade_off")
    assert command.split("--setup ")[1:] == [
        f"{first} ".replace("trade_off", "NAME"),
        second.replace("trade_off", "NAME"),
    ]
    run = run_command(*command.replace("NAME_", "trade_off_").split()[1:], "--trials", 40, "--json")
    assert run.returncode == 0, run.stderr
    assert {first, second} <= {row["setup"] for row in json.loads(run.stdout)["tables"]["options"]}


def test_the_earliest_within_its_cost_and_the_trade_off_agree_at_their_end(path, kept):
    tower = towerpace.load(path)
    asked = {"fresh": 100, "trials": 1500, "seed": 3, "kept": kept}
    first = towerpace.choose(tower, earliest=True, **asked)
    curve = towerpace.choose(tower, **asked).frame("trade_off").query("verdict.str.contains('kept')")
    earliest = first.frame("trade_off").set_index("setup").loc[first.answer.fact("choice"), "p80"]
    assert abs((curve["p80"].iloc[-1] - earliest).days) <= 1
    budget = float(curve["cost"].iloc[0]) + 2000
    within = towerpace.choose(tower, within=budget, **asked).detail.decision.proof
    assert within.sample.mean_cost <= budget
    assert within.sample.quantile_min(0.8) <= first.detail.file.quantile_min(0.8) + 7 * 1440


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"by": date(2027, 3, 12), "earliest": True}, "one of the two"),
        ({"by": date(2030, 3, 16)}, "a date from 2027-03-01"),
        ({"sure": 2}, "sure: found 2"),
    ],
)
def test_what_cannot_be_asked_is_a_fault(path, asked, said):
    with pytest.raises(InputError, match=said):
        towerpace.choose(towerpace.load(path), **asked)


def test_without_costs_the_earliest_alone_can_be_chosen():
    tower = towerpace.load(ONE_HOIST / "scenario.toml")
    with pytest.raises(InputError, match="cost: missing"):
        towerpace.choose(tower, by=date(2027, 3, 16))
    with pytest.raises(InputError, match="at least one"):
        towerpace.choose(tower, earliest=True)
