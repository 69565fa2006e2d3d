"""What a cause is about: every cause of the ledger has its place, once, on one clock."""

from __future__ import annotations

import doctest
from importlib import import_module
from pathlib import Path

import pytest

from towerpace.answers.ledger.book import Ledger, in_calendar_time
from towerpace.answers.ledger.groups import group_name, topic
from towerpace.answers.ledger.waits import SHIFT
from towerpace.answers.prepare import prepare
from towerpace.scenario.load import load

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module")
def tower():
    return prepare(load(SCENARIOS / "gannet_wharf" / "scenario.toml")).tower


def test_every_cause_of_the_demo_has_a_topic_but_the_hours_outside_the_shift(tower):
    causes = Ledger(tower).causes
    assert [cause for cause in causes if topic(cause) is None] == [SHIFT]
    assert len({topic(cause) for cause in causes}) < len(causes)


def test_every_gang_and_machine_stands_by_itself(tower):
    pools = [name for name in tower.plan.pools.names if name in ("hoist", "panel_gang", "floor_crane")]
    causes = [cause for cause in Ledger(tower).causes if cause.endswith(tuple(pools))]
    assert len(pools) == 3
    assert len({topic(cause) for cause in causes if not in_calendar_time(cause)}) == 3


def test_holes_and_the_structure_are_told_apart_from_other_trades():
    assert topic("after leave-outs") == topic("after holes closed") == "holes"
    assert topic("after handover") == "structure"
    assert topic("after panels") == topic("after seal") == group_name("after panels")


def test_a_cause_that_is_new_is_refused():
    with pytest.raises(KeyError):
        topic("elsewhere")


@pytest.mark.parametrize("name", ["ledger.groups", "choice.add", "choice.paired"])
def test_examples_in_the_docstrings_hold(name):
    tested = doctest.testmod(import_module(f"towerpace.answers.{name}"))
    assert (tested.failed, tested.attempted > 0) == (0, True)
