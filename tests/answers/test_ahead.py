"""The weeks ahead of a site in which nothing is uncertain, worked by hand, and of one with slow gangs."""

from datetime import date
from pathlib import Path
from tempfile import mkdtemp

import numpy as np
import pytest

from support.site_record import BRACKETS, LEVELS, TOML
from towerpace import InputError, ahead
from towerpace.scenario import load

CERTAIN = TOML.replace("handling_break_chance = 0.1\nremake_days = 20\n", "") + BRACKETS
SHEET = "date,what,level,zone,done,note\n2027-03-01,handover,1,,yes,\n2027-03-01,brackets,1,north,no,\n"
PROMISES = "id,made,what,level,zone,done,by,who\n"


def site(text=CERTAIN):
    folder = Path(mkdtemp())
    (folder / "scenario.toml").write_text(text, encoding="utf-8")
    (folder / "levels.csv").write_text(LEVELS, encoding="utf-8")
    (folder / "progress.csv").write_text(SHEET, encoding="utf-8")
    return load(folder / "scenario.toml"), folder


def look(rows, *, text=CERTAIN, **more):
    scenario, folder = site(text)
    (folder / "promises.csv").write_text(PROMISES + rows, encoding="utf-8")
    files = {name: folder / f"{name}.csv" for name in ("progress", "promises")}
    return ahead(scenario, **files, trials=more.pop("trials", 2), weeks=more.pop("weeks", 2), **more)


# Twenty brackets of 30 minutes are the ten hours of a day: the only gang does a front a day from Tuesday on.
@pytest.mark.parametrize(
    ("zone", "done", "by", "kept"),
    [
        ("north", "all", "2027-03-02", 1.0),
        ("east", "all", "2027-03-02", 0.0),
        ("east", "all", "2027-03-03", 1.0),
        ("north", "50%", "2027-03-02", 1.0),
        ("east", "1", "2027-03-02", 0.0),
    ],
)
def test_a_promise_is_kept_if_the_work_is_done_by_the_end_of_its_day(zone, done, by, kept):
    answer = look(f"a,2027-03-01,brackets,1,{zone},{done},{by},bracket gang\n")
    assert answer.frame("promises")["chance"].tolist() == [kept]
    assert answer.answer.fact("all_kept") == kept


def test_the_next_step_of_a_promise_waits_for_what_lets_it_begin():
    rows = "a,2027-03-01,brackets,1,north,all,2027-03-02,\nb,2027-03-01,brackets,1,east,all,2027-03-09,\n"
    promises = look(rows).frame("promises")
    assert promises["waits_for"].tolist() == ["structure L1", "bracket gang at brackets L1 north"]
    assert promises["date_80"].dt.date.tolist() == [date(2027, 3, 2), date(2027, 3, 3)]


def test_promises_that_are_decided_or_not_given_yet_are_passed_over():
    rows = "a,2027-03-01,brackets,1,north,all,2027-03-01,\nb,2027-03-02,brackets,1,east,all,2027-03-03,\n"
    assert "promises" not in look(rows).tables


def test_panels_of_days_and_weeks_are_those_of_the_trials():
    answer = look("a,2027-03-01,brackets,1,north,all,2027-03-02,\n")
    days, weeks = answer.frame("days"), answer.frame("weeks")
    for p in ("p10", "p50", "p90"):
        by_week = days[f"panels_{p}"].to_numpy().reshape(-1, 7).sum(axis=1)
        assert by_week.tolist() == weeks[f"panels_{p}"].tolist()
    assert days["panels_p50"].sum() > 9
    # No panel is set on a Saturday or Sunday, which are closed.
    assert not days.loc[days["day"].dt.day_of_week >= 5, "panels_p90"].any()


def test_what_is_needed_is_needed_when_the_work_behind_it_begins():
    answer = look("a,2027-03-01,brackets,1,north,all,2027-03-02,\n")
    needed, fronts = answer.frame("needed"), answer.frame("fronts").set_index(["what", "level", "zone"])
    handover = needed[needed["what"] == "handover"].set_index("level")["needed_by"]
    # Panels of level 1 need level 2 handed over: they begin on Wednesday, when the first brackets are done.
    assert handover[2].date() == date(2027, 3, 3)
    # The bracket gang goes to level 2 on Thursday, when level 1 has its two days behind it.
    assert fronts.loc[("brackets", 2, "north"), "begins"].date() == date(2027, 3, 4)
    crates = needed[(needed["what"] == "crates_up") & (needed["level"] == 1)].set_index("zone")["needed_by"]
    assert crates["north"] == fronts.loc[("panels", 1, "north"), "begins"]


def test_promises_of_one_site_are_not_independent():
    pace = 'unit_min = 30\npace = { low = 0.7, likely = 1.0, high = 1.5, shape = "pert" }'
    rows = "".join(
        f"{level},2027-03-01,panels,{level},east,all,2027-03-{by},\n" for level, by in ((1, "04"), (2, "08"))
    )
    answer = look(rows, text=TOML + BRACKETS.replace("unit_min = 30", pace), trials=40)
    alone, together = answer.detail.kept.mean(axis=0), answer.answer.fact("all_kept")
    assert 0 < alone.prod() < together <= alone.min()


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        (",2027-03-01,brackets,1,north,all,2027-03-02,", "line 2  id: found a blank"),
        ("a,1 March,brackets,1,north,all,2027-03-02,", 'line 2  made: found "1 March"; allowed: a date as'),
        (
            "a,2027-03-03,brackets,1,north,all,2027-03-02,",
            "line 2  by: found 2027-03-02; allowed: a day on or",
        ),
        ("a,2027-03-01,brakets,1,north,all,2027-03-02,", 'line 2  what: found "brakets"'),
        ("a,2027-03-01,brackets,1,north,21,2027-03-02,", 'line 2  done: found "21"; allowed: more than none'),
        ("a,2027-03-01,brackets,1,north,no,2027-03-02,", 'line 2  done: found "no"; allowed: more than none'),
        ("a,2027-03-01,holes,1,north,2,2027-03-02,", "line 2  what: found holes; allowed: work: handover"),
    ],
)
def test_a_bad_promise_is_told_with_its_line(row, fault):
    with pytest.raises(InputError) as told:
        look(row + "\n", text=TOML + BRACKETS)
    (only,) = told.value.faults
    assert only.text().startswith(fault)


def test_one_name_for_two_promises_names_both_lines():
    row = "a,2027-03-01,brackets,1,north,all,2027-03-02,\n"
    with pytest.raises(InputError, match="line 2 bears it too"):
        look(2 * row)


def test_a_forecast_needs_weather_in_the_scenario():
    scenario, folder = site()
    (folder / "forecast.csv").write_text("time,issued\n", encoding="utf-8")
    with pytest.raises(InputError, match="no table \\[weather\\]"):
        ahead(scenario, folder / "progress.csv", weather=folder / "forecast.csv", trials=1)


def test_every_front_that_is_listed_is_one_that_can_be_reported():
    answer = look("a,2027-03-01,brackets,1,north,all,2027-03-02,\n", weeks=1)
    assert answer.frame("fronts")["begun_chance"].between(0, 1).all()
    assert np.all(answer.detail.outcomes.values["done"] >= answer.detail.outcomes.values["begun"])
