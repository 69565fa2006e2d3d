"""Dates to hold a site to, beside an update; and an update whose scenario has changed since the last one."""

import contextlib
from datetime import date

import matplotlib.dates as mdates
import pandas as pd
import pytest

from support.bare import bare
from support.command_line import towerpace
from support.site_record import LEVELS, MORE, TOML, recorded, reporting_site
from towerpace import baseline, check, forecast, load, update
from towerpace.faults import InputError

SHEET = """2027-03-05,brackets,1,north,all,
2027-03-12,panels,1,north,9,
2027-03-12,brackets,1,east,all,
2027-03-12,mock_up,,,passed,"""
CONTRACT = "\n[contract.second_floor]\ndate = 2027-04-01\nlevel = 2\n"


def written(folder, *, set_min=50):
    folder.mkdir(parents=True, exist_ok=True)
    text = TOML.replace("set_min = 50", f"set_min = {set_min}") + MORE + CONTRACT
    (folder / "scenario.toml").write_text(text, encoding="utf-8")
    (folder / "levels.csv").write_text(LEVELS, encoding="utf-8")
    return load(folder / "scenario.toml")


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sheet")
    recorded(folder, SHEET)
    return folder / "progress.csv"


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    return written(tmp_path_factory.mktemp("site"))


@pytest.fixture(scope="module")
def result(site, sheet):
    return update(site, sheet, learn=False, trials=10)


def test_without_a_baseline_the_site_is_held_to_what_four_trials_in_five_kept(result, site):
    start = forecast(site, trials=10)
    held = result.frame("baseline").set_index("what")
    by_percentile = start.frame("percentiles").set_index("percentile")
    assert held.loc["finish", "baseline"] == by_percentile.loc["P80", "finish"]
    now = result.frame("percentiles").set_index("percentile").loc["P80", "finish"]
    assert held.loc["finish", "now"] == now
    assert held.loc["finish", "moved_days"] == (now - held.loc["finish", "baseline"]).days > 0
    crown = start.frame("activities").set_index("activity").loc["crown", "p80"]
    assert held.loc["crown", "baseline"] == crown
    assert held.loc["closing-in", "level"] == 2
    closed = result.frame("closing_in")
    assert closed["baseline"].tolist() == start.frame("closing_in")["p80"].tolist()
    assert (closed["moved_days"] == (closed["p80"] - closed["baseline"]).dt.days).all()


def test_the_flow_is_as_built_up_to_the_line_of_the_data_date(result):
    axes = result.plot("flow").axes[0]
    lines = {line.get_gid(): line for line in axes.lines}
    seen = mdates.date2num(date(2027, 3, 13))
    assert set(lines["data date"].get_xdata()) == {seen}
    flow = result.frame("flow").set_index(["trade", "level"])
    # Brackets of level 1 are told as done on both sides; panels on one of them only.
    assert lines["built brackets"].get_xdata().tolist() == [
        mdates.date2num(flow.loc[("brackets", 1), "done_p50"])
    ]
    assert lines["built panels"].get_xdata().size == 0
    held = [mdates.date2num(day) for day in flow.loc["panels", "baseline"]]
    assert lines["baseline panels"].get_xdata().tolist() == held
    assert axes.figure.get_suptitle().startswith("By 12 Mar 2027 brackets is done on 1 of 4 levels")


@pytest.fixture(scope="module")
def base(site, tmp_path_factory):
    """The folder of a baseline at P50."""
    return bare(baseline(site, at=0.5, trials=10), tmp_path_factory.mktemp("base") / "base")


def test_dates_of_a_baseline_are_told_beside_what_they_are_worth_now(site, sheet, base):
    result = update(site, sheet, learn=False, trials=10, baseline=base)
    milestones, fronts = (pd.read_csv(base / f"{name}.csv") for name in ("milestones", "fronts"))
    finish = result.frame("baseline").set_index("what").loc["finish"]
    assert str(finish["baseline"].date()) == milestones.set_index("what").loc["finish", "baseline"]
    # Held to P50, it is P50 that is set beside it.
    assert finish["now"] == result.frame("percentiles").set_index("percentile").loc["P50", "finish"]
    by_level = fronts.groupby(["what", "level"])["baseline"].max()
    flow = result.frame("flow").set_index(["trade", "level"])["baseline"]
    assert str(flow["panels", 3].date()) == by_level["panels", 3]
    assert "the baseline at P50 of" in result.answer.table("baseline").note


def test_own_dates_are_held_beside_what_four_in_five_keep_now(site, sheet, tmp_path):
    dates = tmp_path / "dates.csv"
    dates.write_text("what,level,zone,done\nfinish,,,2027-04-10\n", encoding="utf-8")
    folder = bare(baseline(site, dates=dates, trials=4), tmp_path / "own")
    result = update(site, sheet, learn=False, trials=10, baseline=folder)
    (row,) = result.frame("baseline").itertuples()
    assert row.baseline.date() == date(2027, 4, 10)
    kept = (result.detail.now.finish <= 41 * 1440).mean()
    assert row.kept == kept
    assert "own dates" in result.answer.table("baseline").note


@pytest.mark.parametrize("other", ["check", "another tower"])
def test_a_baseline_that_is_none_of_this_tower_is_refused(site, sheet, tmp_path, other):
    if other == "check":
        folder, why = check(site).save(tmp_path / "check"), "results of baseline"
    else:
        flat = load("scenarios/one_trade/scenario.toml")
        folder, why = bare(baseline(flat, trials=2), tmp_path / "flat"), "a baseline of Reporting site"
    with pytest.raises(InputError, match=why):
        update(site, sheet, learn=False, trials=2, baseline=folder)


@pytest.fixture(scope="module")
def first(sheet, tmp_path_factory):
    """An update kept in results/first of a folder in which its scenario is old/scenario.toml."""
    home = tmp_path_factory.mktemp("home")
    written(home / "old")
    with contextlib.chdir(home):
        result = update(load("old/scenario.toml"), sheet, learn=False, at=date(2027, 3, 5), trials=10)
        bare(result, "results/first")
    return home, result


def test_another_scenario_than_that_of_the_last_update_is_a_move_of_its_own(first, sheet, tmp_path):
    """Panels that take a quarter longer; the scenario of the last update is found from its folder."""
    home, before = first
    new = written(tmp_path / "new", set_min=65)
    result = update(new, sheet, learn=False, since=home / "results" / "first", trials=10)
    finish, moves = result.frame("percentiles"), result.frame("moves").set_index("cause")
    assert finish["before"].tolist() == before.frame("percentiles")["finish"].tolist()
    assert list(moves.index) == ["progress", "weather", "learned", "scenario"]
    said = f"The scenario has changed since, which moves that day by {moves.loc['scenario', 'p80_days']:+.1f}"
    assert said in result.answer.said
    sentences = [text for chapter in result.answer.chapters for text in chapter.sentences]
    assert "; 1 remark; " in " ".join(sentences)
    # On common draws no trial is quicker for it: the interval lies above 0.
    assert moves.loc["scenario", "diff_days_low"] > 0
    assert moves["p80_days"].sum() == pytest.approx(finish.set_index("percentile").loc["P80", "moved_days"])
    dots = [line.get_xdata().size for line in result.plot("trend").axes[0].lines if line.get_marker() == "o"]
    assert dots == [1, 2]
    trend = result.frame("trend")
    assert trend["scenario_then"].tolist() == ["as it was", "as it was", ""]
    assert trend["p50"].tolist()[:2] == before.frame("trend")["p50"].tolist()
    assert "the scenario has changed since Fri 05 Mar 2027" in " ".join(result.frame("remarks")["remark"])
    assert (result.detail.now.finish == update(new, sheet, learn=False, trials=10).detail.now.finish).all()


def test_the_scenario_as_it_was_may_be_named_where_it_has_changed_in_place(first, sheet, tmp_path):
    folder = first[0] / "results" / "first"
    copy = written(tmp_path / "copy")
    new = written(first[0] / "old", set_min=65)
    with pytest.raises(InputError, match=r"has changed since.*--since-scenario"):
        update(new, sheet, learn=False, since=folder, trials=2)
    result = update(new, sheet, learn=False, since=folder, since_scenario=copy, trials=2)
    assert result.detail.scenario_changed
    other = reporting_site().scenario
    with pytest.raises(InputError, match="since-scenario: found hash"):
        update(new, sheet, learn=False, since=folder, since_scenario=other, trials=2)
    written(first[0] / "old")


def test_the_scenario_as_it_was_is_found_from_any_folder_beside_the_one_that_is_now(
    sheet, tmp_path, monkeypatch
):
    """Results that lie apart name a scenario as it was typed; another's file of that name is passed by."""
    monkeypatch.setattr("towerpace.render.folder._write_figures", lambda *_: None)
    written(tmp_path / "project" / "old")
    new = written(tmp_path / "project" / "new", set_min=65)
    results, elsewhere = tmp_path / "archive" / "first", tmp_path / "elsewhere"
    (elsewhere / "old").mkdir(parents=True)
    (elsewhere / "old" / "scenario.toml").write_text("[tower]\nname = 3\n", encoding="utf-8")
    with contextlib.chdir(tmp_path / "project"):
        update(load("old/scenario.toml"), sheet, learn=False, trials=2).save(results)
    with contextlib.chdir(elsewhere):
        assert update(new, sheet, learn=False, since=results, trials=2).detail.scenario_changed


def test_before_is_named_and_told_where_its_results_tell_another_date(first, sheet, tmp_path):
    """Under other draws the P80 of that day is another one than on the page of the last update."""
    home, before = first
    new, folder = written(tmp_path / "new", set_min=65), home / "results" / "first"
    asked = {"learn": False, "since": folder, "trials": 10}
    same, other = (update(new, sheet, seed=seed, **asked) for seed in (1, 8))
    for result in (same, other):
        assert "later than on Fri 05 Mar 2027. The scenario has changed" in result.answer.said
        assert result.answer.table("percentiles").note == "Before: as seen on Fri 05 Mar 2027."
    theirs, here = (
        answer.frame("percentiles").set_index("percentile").loc["P80", column]
        for answer, column in ((before, "finish"), (other, "before"))
    )
    assert theirs != here
    assert not any("its P80 is" in remark for remark in same.frame("remarks")["remark"])
    (told,) = (remark for remark in other.frame("remarks")["remark"] if "its P80 is" in remark)
    assert f"{theirs:%d %b %Y}, and before is" in told
    assert f"{here:%d %b %Y} here" in told


def test_before_is_the_start_where_no_update_went_before(result, site, sheet, tmp_path):
    assert result.answer.said.endswith("than at the start.")
    folder = forecast(site, trials=10).save(tmp_path / "start")
    again = update(site, sheet, learn=False, since=folder, trials=10)
    assert again.answer.said == result.answer.said
    assert not any("its P80 is" in remark for remark in again.frame("remarks")["remark"])


def test_results_later_than_the_data_date_are_not_before(first, site, sheet):
    folder, earlier = first[0] / "results" / "first", sheet.with_name("earlier.csv")
    earlier.write_text("date,what,level,zone,done\n2027-03-03,brackets,1,north,all\n", encoding="utf-8")
    with pytest.raises(InputError, match="a data date up to that of this update, 2027-03-03"):
        update(site, earlier, since=folder, trials=2)


def test_the_command_takes_a_baseline_and_prints_within_its_columns(site, sheet, base):
    run = towerpace(
        "update", site.path, "--progress", sheet, "--learn", "no", "--baseline", base, "--trials", 2
    )
    assert run.returncode == 0, run.stderr
    assert "Against the baseline" in run.stdout
    assert max(map(len, run.stdout.splitlines())) <= 80
