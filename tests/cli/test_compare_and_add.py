"""towerpace compare and towerpace add as a user runs them, on a tower whose one hoist binds."""

import json
import shutil

import pytest

from support.command_line import ROOT, towerpace
from support.short_tower import COSTS, write_short_tower
from towerpace.cli.target_text import show_target

ALL = ("--workers", 1, "--json")


def answer(*arguments):
    run = towerpace(*arguments)
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return write_short_tower(tmp_path_factory.mktemp("tower"), levels=3, replace=COSTS)


@pytest.fixture(scope="module")
def compared(path):
    return answer("compare", path, "--trials", 15, *ALL)


@pytest.fixture(scope="module")
def added(path):
    return answer("add", path, "--trials", 20, "--matters", 0.4, "--steps", 2, *ALL)


def test_compare_has_what_was_promised(compared):
    assert {"scenario", "hash", "seed", "trials", "version", "setups"} <= set(compared)
    base, *others = compared["setups"]
    assert [one["name"] for one in others] == ["second_hoist", "third_crane", "both"]
    assert {"name", "p50", "p80", "cost"} <= set(base)
    assert "diff_days" not in base
    for one in others:
        assert {"p50", "p80", "cost", "diff_days", "diff_low", "diff_high"} <= set(one)
        assert one["diff_low"] <= one["diff_days"] <= one["diff_high"]


def test_a_crane_alone_gains_nothing_and_after_the_hoist_much(compared):
    """The purpose of the scenario: one hoist feeds two cranes, so a third one waits for crates."""
    by_name = {one["name"]: one for one in compared["setups"]}
    hoist, crane, both = (by_name[name] for name in ("second_hoist", "third_crane", "both"))
    assert abs(crane["diff_days"]) < 0.1
    assert hoist["diff_high"] < 0
    assert both["diff_high"] < 2 * hoist["diff_low"] < 0
    # A crane that gains nothing still costs its hire.
    assert crane["diff_cost"] > 0 > both["diff_cost"]


def test_the_text_of_compare_says_days_money_and_why(path):
    run = towerpace("compare", path, "--setup", "both", "--trials", 5, "--workers", 1)
    assert run.returncode == 0, run.stderr
    assert "Against the base, paired" in run.stdout
    assert "both: hoisting no hoist -" in run.stdout
    assert "third_crane" not in run.stdout


def test_an_unknown_set_up_gives_the_nearest_word_and_exit_2(path):
    run = towerpace("compare", path, "--setup", "second_hoits")
    assert run.returncode == 2
    assert "found second_hoits" in run.stderr
    assert "nearest: second_hoist" in run.stderr


def test_compare_writes_a_folder_of_tables_and_figures(path, tmp_path):
    run = towerpace("compare", path, "--setup", "both", "--trials", 5, *ALL, "--out", tmp_path / "run")
    assert run.returncode == 0, run.stderr
    names = {f.name for f in (tmp_path / "run").iterdir()}
    assert {
        "compare.json",
        "paired.csv",
        "setups.csv",
        "finish_curves.png",
        "paired_differences.svg",
    } <= names
    assert "cost_against_p80.png" in names
    assert json.loads((tmp_path / "run" / "compare.json").read_text(encoding="utf-8")) == json.loads(
        run.stdout
    )


def test_add_has_what_was_promised(added):
    assert {"ranking", "path", "trials_used", "trials_equal_allocation", "stopped"} <= set(added)
    for one in [*added["ranking"], *added["path"]]:
        assert {"resource", "change", "days", "low", "high", "money", "verdict"} <= set(one)
    assert added["trials_used"] > 0


def test_add_names_the_hoist_first_then_crane_and_gang_together(added):
    ranking = {(one["resource"], one["change"]): one for one in added["ranking"]}
    assert added["ranking"][0]["resource"] == "hoist"
    assert ranking["hoist", "+1"]["high"] < 0
    for name in ("floor_crane", "panel_gang"):
        assert abs(ranking[name, "+1"]["days"]) < 0.1
        assert ranking[name, "-1"]["low"] > 0
    first, second = added["path"]
    assert (first["resource"], first["change"]) == ("hoist", "+1")
    assert (second["resource"], second["change"]) == ("floor_crane and panel_gang", "+1 each")
    assert second["days"] < 2 * first["days"] < 0
    assert second["p80"] < first["p80"]


def test_a_candidate_is_told_as_it_stands_in_the_file_with_its_note(tmp_path):
    shutil.copytree(ROOT / "scenarios" / "one_hoist", tmp_path / "tower")
    path = tmp_path / "tower" / "scenario.toml"
    candidate = '[candidate.early]\nnote = "No hoist before ten."\ncalendar.site.week.sat = ["10:00-12:00"]\n'
    path.write_text(path.read_text(encoding="utf-8") + "\n" + candidate, encoding="utf-8")

    run = towerpace("add", path, "--trials", 20, "--steps", 1, "--workers", 1)

    assert run.returncode == 0, run.stderr
    assert 'early: calendar.site.week.sat = ["10:00-12:00"]. No hoist before ten.' in run.stdout
    assert "('10:00-12:00',)" not in run.stdout


def test_a_target_that_can_be_reached_names_the_cheapest_set_up(path):
    found = answer("add", path, "--target", "2027-03-16", "--confidence", 0.7, "--trials", 20, *ALL)
    enough = [one for one in found["grid"] if one["chance"] >= 0.7]
    assert found["cheapest"] == min(enough, key=lambda one: one["price"])
    # The hoist binds, and behind it the cranes with their gangs.
    assert all({"hoist", "panel_gang", "floor_crane"} <= set(one["added"]) for one in enough)
    assert found["cheapest"]["p80"] <= "2027-03-16"
    prices = [one["price"] for one in found["frontier"]]
    dates = [one["p80"] for one in found["frontier"]]
    assert prices == sorted(prices)
    assert dates == sorted(dates, reverse=True)


def test_a_target_that_cannot_be_reached_is_said_to_be_so(path, capsys):
    """Level 3 is handed over on 10 March: nothing that can be added finishes it the day after."""
    found = answer("add", path, "--target", "2027-03-11", "--confidence", 0.8, "--trials", 20, *ALL)
    assert found["cheapest"] is None
    show_target(found)
    assert "Not reachable by adding" in capsys.readouterr().out
