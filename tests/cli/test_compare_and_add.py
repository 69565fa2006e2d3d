"""towerpace compare and towerpace add as a user runs them, on a tower whose one hoist binds."""

import json
import shutil

import pytest

from support.command_line import ROOT, towerpace
from support.short_tower import COSTS, write_short_tower

ALL = ("--workers", 1, "--json")


def answer(*arguments):
    run = towerpace(*arguments)
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)


def by(rows, *names):
    return {tuple(row[name] for name in names) if len(names) > 1 else row[names[0]]: row for row in rows}


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
    assert compared["question"] == "compare"
    assert compared["facts"] == {"unit": "crowns"}
    tables = compared["tables"]
    assert [row["setup"] for row in tables["setups"]] == ["base", "second_hoist", "third_crane", "both"]
    assert [row["setup"] for row in tables["differences"]] == ["second_hoist", "third_crane", "both"]
    for row in tables["differences"]:
        assert row["diff_days_low"] <= row["diff_days"] <= row["diff_days_high"]
        assert row["p80_diff_days_low"] <= row["p80_diff_days"] <= row["p80_diff_days_high"]
        assert row["beats_base_low"] <= row["beats_base"] <= row["beats_base_high"]
    costs = by(tables["costs"], "setup")
    assert costs["base"]["diff_cost"] is None
    assert costs["both"]["cost"] - costs["base"]["cost"] == pytest.approx(costs["both"]["diff_cost"])


def test_a_crane_alone_gains_nothing_and_after_the_hoist_much(compared):
    """The purpose of the scenario: one hoist feeds two cranes, so a third one waits for crates."""
    gains = by(compared["tables"]["differences"], "setup")
    hoist, crane, both = (gains[name] for name in ("second_hoist", "third_crane", "both"))
    assert abs(crane["diff_days"]) < 0.1
    assert hoist["diff_days_high"] < 0
    assert both["diff_days_high"] < 2 * hoist["diff_days_low"] < 0
    # A crane that gains nothing still costs its hire.
    costs = by(compared["tables"]["costs"], "setup")
    assert costs["third_crane"]["diff_cost"] > 0 > costs["both"]["diff_cost"]


def test_the_cause_that_a_second_hoist_takes_away_is_waiting_for_the_hoist(compared):
    causes = [row for row in compared["tables"]["causes"] if row["setup"] == "second_hoist"]
    first = causes[0]
    assert "hoist" in first["cause"]
    assert first["clock"] == "shift"
    assert first["diff_days"] is None
    assert -first["base_h"] <= first["diff_h"] <= first["diff_h_high"] < 0
    waits = [row for row in causes if row["clock"] == "calendar"]
    # Three levels of four zones: twelve work areas share the hours.
    assert waits
    assert all(row["diff_days"] == pytest.approx(row["diff_h"] / 24 / 12) for row in waits)


def test_the_text_of_compare_says_days_money_and_why_in_eighty_columns(path):
    run = towerpace("compare", path, "--setup", "both", "--trials", 5, "--workers", 1)
    assert run.returncode == 0, run.stderr
    for said in (
        "'both' finishes",
        "for 80 % confidence allow",
        "set-up less base under the same draws",
        "[crowns]",
        "The causes that change most, set-up less base",
        "! Weather limits are planning inputs",
    ):
        assert said in run.stdout
    assert "third_crane" not in run.stdout
    assert max(map(len, run.stdout.splitlines())) <= 80


def test_an_unknown_set_up_gives_the_nearest_word_and_exit_2(path):
    run = towerpace("compare", path, "--setup", "second_hoits")
    assert run.returncode == 2
    assert "found second_hoits" in run.stderr
    assert "nearest: second_hoist" in run.stderr


def test_compare_writes_a_folder_of_tables_and_figures(path, tmp_path):
    run = towerpace("compare", path, "--setup", "both", "--trials", 5, *ALL, "--out", tmp_path / "run")
    assert run.returncode == 0, run.stderr
    names = {f.name for f in (tmp_path / "run").iterdir()}
    assert {"answer.json", "paired.csv", "setups.csv", "differences.csv", "finish_curves.png"} <= names
    assert {"paired_differences.svg", "cost_against_p80.png"} <= names
    kept = json.loads((tmp_path / "run" / "answer.json").read_text(encoding="utf-8"))
    printed = json.loads(run.stdout)
    assert {name: kept[name] for name in printed} == printed


def test_add_has_what_was_promised(added):
    assert added["question"] == "add"
    assert {"trials_used", "trials_equal_allocation", "stopped", "procedure"} <= set(added["facts"])
    assert added["trials"] == added["facts"]["trials_used"] > 0
    for row in [*added["tables"]["ranking"], *added["tables"]["path"]]:
        for key in ("diff_days", "diff_cost"):
            low, mean, high = (row[f"{key}{end}"] for end in ("_low", "", "_high"))
            assert low is high is None or low <= mean <= high  # trials that do not differ give no interval
    assert all(row["p80_low"] <= row["p80"] for row in added["tables"]["path"])


def test_add_names_hoist_crane_and_gang_together_since_each_gains_more_than_the_hoist_alone(added, compared):
    rows = added["tables"]["ranking"]
    ranking = by(rows, "resource", "change")
    first, hoist = rows[0], ranking["hoist", "+1"]
    assert first["addition"] == "panel_gang, floor_crane and hoist +1 each"
    assert first["diff_days"] / 3 < hoist["diff_days"] < 0
    for name in ("floor_crane", "panel_gang"):
        assert ranking[name, "+1"]["verdict"] == "same in 20 trials"
        assert ranking[name, "-1"]["diff_days_low"] > 0
    assert added["tables"]["path"][0]["addition"] == first["addition"]
    assert first["diff_days"] < by(compared["tables"]["differences"], "setup")["second_hoist"]["diff_days"]


def test_a_candidate_is_told_as_it_stands_in_the_file_with_its_note(tmp_path):
    shutil.copytree(ROOT / "scenarios" / "one_hoist", tmp_path / "tower")
    path = tmp_path / "tower" / "scenario.toml"
    candidate = '[candidate.early]\nnote = "No hoist before ten."\ncalendar.site.week.sat = ["10:00-12:00"]\n'
    path.write_text(path.read_text(encoding="utf-8") + "\n" + candidate, encoding="utf-8")

    run = towerpace("add", path, "--trials", 20, "--steps", 1, "--workers", 1)

    assert run.returncode == 0, run.stderr
    assert 'early: calendar.site.week.sat = ["10:00-12:00"]. No hoist before ten.' in run.stdout
    assert "('10:00-12:00',)" not in run.stdout
    assert max(map(len, run.stdout.splitlines())) <= 80


def test_the_text_of_add_fits_eighty_columns_also_with_money_and_is_kept(path, tmp_path):
    folder = tmp_path / "run"
    asked = ("add", path, "--trials", 20, "--matters", 0.4, "--steps", 2, "--workers", 1)
    run = towerpace(*asked, "--out", folder)
    assert run.returncode == 0, run.stderr
    text, _, said_where = run.stdout.partition("\nTables and figures: ")
    assert said_where
    assert "[crowns]" in text
    assert "as the mean cost is sure to fall: panel_gang, floor_crane and hoist +1 each" in " ".join(
        text.split()
    )
    assert "changed none of 20 trials changes at most 14 % of all (95 % sure)" in " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 80
    names = {f.name for f in folder.iterdir()}
    assert {"answer.json", "ranking.csv", "path.csv", "gains.png", "gains.svg", "manifest.json"} <= names


def test_where_nothing_tried_gains_enough_no_more_than_that_is_said(path):
    """All three together gain some days, so they are not worth naming where twenty matter."""
    few = answer("add", path, "--trials", 20, "--matters", 20, *ALL)
    assert few["tables"]["path"] == []
    assert few["facts"]["stopped"] == "of those tried, no further addition gains 20 days"
    assert few["said"] == "Of those tried, no further addition gains 20 days."
