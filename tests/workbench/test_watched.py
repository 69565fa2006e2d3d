"""A trial that is watched is the trial that was played."""

from itertools import pairwise

import pytest

from support import wharf_in_small
from towerpace import forecast, load
from towerpace.workbench.causes import LETTERS
from towerpace.workbench.messages import Replay
from towerpace.workbench.player import Player


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return str(wharf_in_small.write(tmp_path_factory.mktemp("wharf")))


@pytest.fixture(scope="module")
def told(path):
    return Player(path, seed=3, place=0, of=1).replay(Replay(1, 0, {}, 2)).told


def steps_of(told):
    """Steps by name of their columns, words in place of their numbers."""
    columns, names = told["steps"]["columns"], told["names"]
    words = {"kind", "trade", "zone", "unit", "cause"}
    for row in zip(*columns.values(), strict=True):
        pairs = zip(columns, row, strict=True)
        yield {k: names[v] if k in words and v is not None else v for k, v in pairs}


def test_it_ends_as_the_forecast_says(path, told):
    finish = forecast(load(path), trials=3, seed=3).frame("finish").iloc[2]
    assert told["end"] == finish.finish_min
    assert told["finish"] == str(finish.finish)[:10]
    assert max(step["end"] for step in steps_of(told)) >= told["end"]


def test_every_level_is_handed_over_and_closed_in_once(path, told):
    levels = list(load(path).levels.levels)
    for kind in ("handover", "closing-in"):
        assert sorted(step["level"] for step in steps_of(told) if step["kind"] == kind) == levels


def test_a_crane_moves_to_one_place_at_a_time(told):
    """Moves of one crane never overlap; those of two do, or one crane alone would have served."""
    by_unit = {}
    for step in steps_of(told):
        if step["unit"] and step["unit"].startswith("floor_crane") and step["kind"] == "crane move":
            by_unit.setdefault(step["unit"], []).append((step["start"], step["end"]))
    assert set(by_unit) <= set(told["cranes"])
    assert len(by_unit) > 1
    for spans in by_unit.values():
        assert all(first[1] <= second[0] for first, second in pairwise(sorted(spans)))


def test_causes_are_those_of_the_page_and_waits_begin_when_a_step_is_ready(told):
    causes = {step["cause"] for step in steps_of(told)} - {None}
    assert causes
    assert causes <= set(LETTERS)
    assert all(step["ready"] <= step["start"] for step in steps_of(told))


def test_the_wind_covers_every_hour_up_to_the_finish(told):
    assert len(told["wind"]["gusts"]) == -(-told["end"] // 60)
    assert {limit["name"] for limit in told["limits"]} >= {"flat_lift", "hoist_wind"}
