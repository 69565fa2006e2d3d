"""Earlier forecasts beside what came, on a site in which nothing is uncertain: they must be exactly right."""

from datetime import date, timedelta
from pathlib import Path
from tempfile import mkdtemp

import numpy as np
import pytest

from support.bare import bare
from support.site_record import BRACKETS, LEVELS, START, TOML, reporting_site
from towerpace import InputError, forecast, run, score, update
from towerpace.draws import as_planned
from towerpace.record.places_steps import steps_of
from towerpace.record.promises import PROMISED
from towerpace.record.step_index import index_of
from towerpace.record.words import How, Words
from towerpace.scenario import load

CERTAIN = TOML.replace("handling_break_chance = 0.1\nremake_days = 20\n", "") + BRACKETS
SPREAD = CERTAIN.replace(
    "unit_min = 30", 'unit_min = 30\npace = { low = 0.7, likely = 1, high = 1.5, shape = "pert" }'
)
CONTRACT = "\n[contract.release]\nlevel = 2\ndate = 2027-03-20\n[contract.end]\ndate = 2027-03-13\n"
SEEN = date(2027, 3, 10)


def sheet():
    """What a foreman of the certain site writes at the end of every day up to the data date."""
    ready = reporting_site(more=BRACKETS)
    diary = run(ready.tower.plan, as_planned(ready.tower.plan))
    words, rows = Words.of(ready.scenario, ready.tower, index_of(ready.tower.plan)), []
    for place in words.totals:
        steps = steps_of(place, ready.tower, index_of(ready.tower.plan))
        if steps and words.words[place.what].how in PROMISED:
            day = ready.days.date_of(int(diary.finished[steps].max()))
            said = "yes" if words.words[place.what].how is How.TRUTH else "all"
            rows.append((day, place.what, place.level or "", place.zone, said))
    rows = sorted(row for row in rows if row[0] <= SEEN)
    return "date,what,level,zone,done\n" + "".join(",".join(map(str, row)) + "\n" for row in rows)


def site(text):
    folder = Path(mkdtemp())
    (folder / "scenario.toml").write_text(text + CONTRACT, encoding="utf-8")
    (folder / "levels.csv").write_text(LEVELS, encoding="utf-8")
    (folder / "progress.csv").write_text(sheet(), encoding="utf-8")
    return load(folder / "scenario.toml"), folder


def test_a_certain_forecast_of_a_site_that_kept_to_it_misses_by_nothing():
    scenario, folder = site(CERTAIN)
    start = bare(forecast(scenario, trials=6), folder / "start")
    marked = score(start, folder / "progress.csv", scenario=scenario)
    marks = marked.frame("marks").iloc[0]
    assert (marks["marked"], marks["late"], marks["score_days"]) == (5, 0, 0.0)
    outcomes = marked.frame("outcomes").set_index("level")
    come = outcomes[outcomes["came"].notna()]
    assert len(come) == marks["come"] > 1
    assert come["came"].tolist() == come["p50"].tolist()


def test_forecasts_are_marked_on_what_was_open_when_they_were_made():
    scenario, folder = site(SPREAD)
    start = bare(forecast(scenario, trials=40), folder / "start")
    later = bare(update(scenario, folder / "progress.csv", at=date(2027, 3, 5), trials=40), folder / "later")
    marked = score([later, start], folder / "progress.csv", scenario=scenario)
    marks = marked.frame("marks")
    assert marks["data_date"].isna().tolist() == [True, False]  # by data date, however they are named
    assert marks["marked"].tolist() == [5, 4]
    assert marks["score_as_badly"].between(0, 1).all()
    chances = marked.frame("chances")
    # The release of level 2 came before its date; the end is open on the 10th, and due on the 13th.
    assert chances.loc[chances["contract"] == "release", "came"].tolist() == [True, True]
    assert chances.loc[chances["contract"] == "end", "came"].isna().all()
    moves = marked.frame("moves").set_index("contract")
    assert moves.loc["release", "moved"] >= 0


def test_promises_that_are_due_are_kept_or_not():
    scenario, folder = site(CERTAIN)
    start = bare(forecast(scenario, trials=3), folder / "start")
    rows = (
        "id,made,what,level,zone,done,by,who,reason\n"
        "a,2027-03-01,panels,1,north,all,2027-03-05,panel gang,\n"
        "b,2027-03-01,panels,4,north,all,2027-03-10,panel gang,wind\n"
        "c,2027-03-01,panels,4,north,all,2027-03-19,panel gang,\n"
    )
    (folder / "promises.csv").write_text(rows, encoding="utf-8")
    marked = score(start, folder / "progress.csv", scenario=scenario, promises=folder / "promises.csv")
    settled = marked.frame("promises").set_index("promise")
    assert settled["kept"].to_dict() == {"a": True, "b": False}  # c is not due yet
    assert marked.frame("reasons").to_numpy().tolist() == [["wind", 1]]
    assert marked.frame("kept_by_week")["share"].tolist() == [1.0, 0.0]


def test_the_scenario_is_found_above_the_results_and_taken_as_it_was_if_it_is_there():
    scenario, folder = site(CERTAIN)
    start = bare(forecast(scenario, trials=3), folder / "results" / "start")
    nearer = folder / "results" / folder.name
    nearer.mkdir()
    changed = (folder / "scenario.toml").read_text(encoding="utf-8").replace("2027-03-20", "2027-03-21")
    (nearer / "scenario.toml").write_text(changed, encoding="utf-8")
    (nearer / "levels.csv").write_text(LEVELS, encoding="utf-8")
    assert score(start, folder / "progress.csv").detail.ready.scenario.hash == scenario.hash
    (folder / "scenario.toml").unlink()
    assert score(start, folder / "progress.csv").frame("chances")["due"].max().date() == date(2027, 3, 21)
    (nearer / "scenario.toml").unlink()
    with pytest.raises(InputError, match="neither here nor above the results; allowed: its file, named with"):
        score(start, folder / "progress.csv")


def test_what_cannot_be_marked_is_refused():
    scenario, folder = site(CERTAIN)
    late = bare(update(scenario, folder / "progress.csv", trials=3), folder / "late")
    with pytest.raises(InputError, match="none older than the record"):
        score(late, folder / "progress.csv", scenario=scenario)
    with pytest.raises(InputError, match="missing folder"):
        score(folder / "nowhere", folder / "progress.csv")
    few = bare(forecast(scenario, trials=2), folder / "few")
    with pytest.raises(InputError, match="finish: found 2 trials; allowed: at least 3"):
        score(few, folder / "progress.csv", scenario=scenario)


def test_a_finish_has_its_closing_ins_beside_it():
    scenario, _ = site(CERTAIN)
    answer = forecast(scenario, trials=2)
    cells = answer.frame("finish")["closing_in"].tolist()
    closed = answer.frame("closing_in")["p50"].dt.date
    days = [START + timedelta(int(day)) for day in cells[0].split()]
    assert days == closed.tolist()
    assert np.all(np.diff([day.toordinal() for day in days]) > 0)
