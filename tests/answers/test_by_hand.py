"""A scenario worked by hand in its own comment: shift ends, a Sunday, a lift too late, a wind stop."""

from pathlib import Path

import numpy as np
import pytest

from towerpace.answers.ledger.book import Ledger
from towerpace.answers.prepare import prepare
from towerpace.engine.openings import Openings
from towerpace.engine.reference import run
from towerpace.scenario import load

SCENARIO = Path(__file__).parents[2] / "scenarios" / "by_hand" / "scenario.toml"
DAY = 1440
SATURDAY, MONDAY = 0, 2 * DAY


def at(day, clock):
    hours, minutes = clock.split(":")
    return day + 60 * int(hours) + int(minutes)


@pytest.fixture(scope="module")
def played():
    ready = prepare(load(SCENARIO))
    draw = ready.chooser.draw(seed=1, trial=0)
    openings = Openings(ready.tower.plan.windows, hours=draw.hours, horizon=ready.tower.plan.horizon)
    diary = run(ready.tower.plan, draw, openings=openings)
    return ready.tower, draw, diary


@pytest.mark.parametrize(
    ("step", "started", "finished"),
    [
        ("brackets L1 north", at(SATURDAY, "7:00"), at(SATURDAY, "8:00")),
        ("panels L1 north: truck 1 unloaded", at(SATURDAY, "7:00"), at(SATURDAY, "7:30")),
        ("panels L1 north: crate 1 up", at(SATURDAY, "7:30"), at(SATURDAY, "7:38")),
        ("panels L1 north: move in", at(SATURDAY, "8:00"), at(SATURDAY, "9:00")),
        ("panels L1 north: panel 1", at(SATURDAY, "9:00"), at(SATURDAY, "9:50")),
        ("panels L1 north: panel 2", at(SATURDAY, "9:50"), at(SATURDAY, "10:40")),
        ("panels L1 north: move after panel 2", at(SATURDAY, "10:40"), at(SATURDAY, "11:00")),
        ("panels L1 north: panel 3", at(SATURDAY, "11:00"), at(SATURDAY, "11:50")),
        ("panels L1 north: panel 4", at(SATURDAY, "11:50"), at(SATURDAY, "12:40")),
        ("panels L1 north: move after panel 4", at(SATURDAY, "12:40"), at(SATURDAY, "13:00")),
        ("panels L1 north: panel 5", at(MONDAY, "7:00"), at(MONDAY, "7:50")),
        ("panels L1 north: panel 6", at(MONDAY, "7:50"), at(MONDAY, "8:40")),
        ("seal L1 north", at(MONDAY, "8:40"), at(MONDAY, "13:10")),
    ],
)
def test_every_step_is_where_the_hand_put_it(played, step, started, finished):
    _, _, diary = played
    assert (diary.started_at(step), diary.finished_at(step)) == (started, finished)


def test_the_finish_matches_to_the_minute(played):
    assert played[2].finish == 3670


def test_the_ledger_books_the_same_hours(played):
    tower, draw, diary = played
    ledger = Ledger(tower)
    book, minutes = ledger.of(draw, diary)
    panels = dict(zip(ledger.causes, book[ledger.rows.index("panels"), 0].tolist(), strict=True))
    assert panels["work"] == 6 * 50
    assert panels["crane move"] == 60 + 2 * 20
    assert panels["wind"] == 30  # 13:00-13:30
    assert panels["too little shift left to start"] == 30  # 13:30-14:00
    assert panels["outside shift"] == at(MONDAY, "7:00") - at(SATURDAY, "14:00")
    assert sum(panels.values()) == at(MONDAY, "8:40") - at(SATURDAY, "8:00")
    assert [tower.plan.names[i] for i in np.flatnonzero(minutes.caught)] == ["panels L1 north: panel 4"]
