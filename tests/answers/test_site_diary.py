"""The site diary: word for word on the scenario worked by hand, and complete on a tower."""

import re
from datetime import date
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from support.short_tower import TOO_SHORT, write_short_tower
from towerpace.answers.prepare import prepare
from towerpace.answers.why.telling import legs_of, story_of
from towerpace.scenario import load

SCENARIOS = Path(__file__).parents[2] / "scenarios"
START = date(2027, 5, 15)
# The clock has five Saturdays of 420 minutes and twenty other days of 510.
SHIFT_MIN = (5 * 420 + 20 * 510) / 25


@pytest.fixture(scope="module")
def by_hand():
    return story_of(prepare(load(SCENARIOS / "by_hand" / "scenario.toml")), seed=1, trial=0)


@pytest.fixture(scope="module")
def tower(tmp_path_factory):
    path = write_short_tower(tmp_path_factory.mktemp("short"), levels=3)
    return story_of(prepare(load(path)), seed=4, trial=2)


def test_the_worked_days_are_told_as_their_comment_tells_them(by_hand):
    """The comment at the head of the scenario: four panels on Saturday, the wind stop from 13:00 to 13:30."""
    assert [day.text(START) for day in by_hand.diary] == [
        "Sat 15 May 2027: L1 handed over; wind stop 13:00-13:30, panels on one front; "
        "floor crane ready for panels L1 north; panels L1 north set 1-4; brackets L1 north done; "
        "trucks unloaded: 1; crates up: 1",
        "Mon 17 May 2027: L1 closed in; panels L1 north set 5-6; seal L1 north done",
    ]


def test_the_worked_chain_is_told_by_fronts(by_hand):
    """60 min brackets from 07:00; panels from 08:00 to Monday 08:40; seal to 13:10, over the break."""
    legs = list(legs_of(by_hand, by_trade=False))
    assert [leg.name for leg in legs] == [
        "structure L1",
        "brackets L1 north",
        "panels L1 north",
        "seal L1 north",
        "closing-in L1",
    ]
    inside = [0, 60, 100 + 300 + 30 + 30, 240, 0]
    assert [leg.finished - leg.since - round(1440 * leg.closed_days) for leg in legs] == inside
    assert [leg.working_days for leg in legs] == pytest.approx([m / SHIFT_MIN for m in inside])
    assert legs[2].spent == "work 0.6, crane move 0.2, wind 0.1, too little shift left to start 0.1"


def said(story):
    return [words for day in story.diary for words in day.said]


def test_every_panel_is_set_once_in_order(tower):
    found: dict[str, list[int]] = {}
    for words in said(tower):
        match = re.fullmatch(r"(panels L\d \w+) set ([\d, -]+)", words)
        for run in match[2].split(", ") if match else ():
            first, _, last = run.partition("-")
            found.setdefault(match[1], []).extend(range(int(first), int(last or first) + 1))
    assert len(found) == 12
    assert all(numbers == list(range(1, 13)) for numbers in found.values())


def test_every_crate_and_every_truck_is_counted(tower):
    def total(what):
        return sum(int(words.rpartition(" ")[2]) for words in said(tower) if words.startswith(what))

    assert total("crates up") == 12 * 6  # twelve panels a front, two in a crate
    assert total("trucks unloaded") == 12  # six crates a front, up to eight on a truck


def test_days_go_forward_and_every_level_is_handed_over_and_closed_in(tower):
    numbers = [day.number for day in tower.diary]
    assert numbers == sorted(set(numbers))
    for level in (1, 2, 3):
        assert said(tower).count(f"L{level} handed over") == 1
        assert said(tower).count(f"L{level} closed in") == 1


def test_stretches_follow_each_other_to_the_finish(tower):
    stretches = tower.told.stretches
    assert stretches[-1].finished == tower.played.diary.finish
    for before, after in pairwise(stretches):
        assert before.finished == after.since
        assert (before.tags.trade, before.tags.level, before.tags.zone) != (
            after.tags.trade,
            after.tags.level,
            after.tags.zone,
        )
    minutes = sum(m for one in stretches for _, m in one.by_cause)
    assert minutes == tower.played.diary.finish == int(np.sum(tower.told.minutes))


def test_a_chain_through_a_busy_hoist_says_so(tower):
    stretches = list(legs_of(tower, by_trade=False))
    assert any(leg.name.startswith("hoisting") and leg.spent.endswith("hoist came free") for leg in stretches)
    legs = list(legs_of(tower, by_trade=True))
    assert len(legs) < len(stretches)
    assert any(re.match(r"hoisting L1 \w+ to L\d \w+, \d+ stretches$", leg.name) for leg in legs)
    for measure in ("working_days", "closed_days"):
        both = [sum(getattr(leg, measure) for leg in told) for told in (stretches, legs)]
        assert both[0] == pytest.approx(both[1]) != 0


def test_a_trial_that_does_not_finish_has_a_diary_and_no_chain(tmp_path):
    path = write_short_tower(tmp_path, replace=TOO_SHORT)
    story = story_of(prepare(load(path)), seed=4, trial=2)
    assert story.played.diary.finish is None
    assert story.told.stretches == ()
    assert max(day.number for day in story.diary) <= 11
