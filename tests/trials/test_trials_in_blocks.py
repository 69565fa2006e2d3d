"""Trials that are played together are those that are played one by one, whatever was drawn for them."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from support.command_line import ROOT
from support.dice import Dice, on_random
from support.pinned import STAMPS, forgetful, pins_of
from support.random_plans import random_case
from towerpace import load, run
from towerpace.answers.baseline.baseline import BaselineMeasure
from towerpace.answers.bid.measure import BidMeasure
from towerpace.answers.bid.sources_of_spread import sources_of
from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.cost import cost_book
from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import prepare
from towerpace.answers.sweep.responses import measure_of
from towerpace.answers.update.milestones import Milestones
from towerpace.answers.why.by_source import traced
from towerpace.climate.hours import Hours
from towerpace.engine.kernel.block import Block
from towerpace.plan.pins import resumed
from towerpace.scenario.study_responses import parse_response
from towerpace.trials.job import Job
from towerpace.trials.outcome import stacked
from towerpace.trials.player import BLOCK, TrialPlayer


def forecast_of(ready):
    return ForecastMeasure(
        ready.tower, cost_book(ready.scenario.settings, tower=ready.tower, days=ready.days)
    )


def bid_of(ready):
    return BidMeasure(forecast_of(ready), ready, ready.tower.plan.horizon, tuple(sources_of(ready)))


def milestones_of(ready):
    return Milestones(ready.tower)


def baseline_of(ready):
    return BaselineMeasure(ready.tower)


def finish_of(ready):
    """Has no way of its own to read many trials at once."""
    return FinishMeasure(cost_book(ready.scenario.settings, tower=ready.tower, days=ready.days))


def study_of(ready, *, asks):
    """What a study reads of some responses."""
    return measure_of([parse_response(text) for text in asks], ready)


def player_of(name, measure=forecast_of):
    ready = prepare(load(ROOT / "scenarios" / name / "scenario.toml"))
    chooser = traced(ready) if measure is bid_of else ready.chooser
    return TrialPlayer(Job(chooser, measure(ready), seed=5))


def differences(outcomes, others):
    """Names of what differs between outcomes."""
    pairs = [(outcomes.values, others.values), (outcomes.sums, others.sums)]
    return [
        name
        for own, other in pairs
        for name in sorted({*own, *other})
        if not np.array_equal(own[name], other[name])
    ]


@pytest.mark.parametrize(
    ("name", "measure"),
    [
        ("one_hoist", forecast_of),
        ("tower_crane", forecast_of),
        ("tower_crane", bid_of),
        ("tower_crane", milestones_of),
        ("tower_crane", baseline_of),
        ("tower_crane", finish_of),
        ("tower_crane", partial(study_of, asks=["finish.p80", "open_holes.mean"])),
        ("tower_crane", partial(study_of, asks=["finish.p80", "ledger.panels.wind"])),
        pytest.param("gannet_wharf", forecast_of, marks=pytest.mark.slow),
    ],
)
def test_outcomes_of_a_block_are_those_of_its_trials(name, measure):
    play = player_of(name, measure)
    for start, stop in ((3, 3 + BLOCK), (0, 2), (7, 7 + 2 * BLOCK + 1)):
        together = play.block(start, stop)
        alone = stacked(play(trial) for trial in range(start, stop))
        assert together.n == alone.n
        assert differences(together, alone) == []


def test_trials_with_weather_of_their_own_are_read_one_by_one_with_the_same_outcomes(monkeypatch):
    """One trial of a block brings its hours as plain arrays, not as days of the record."""
    play = player_of("tower_crane")
    draws = play._draws

    def plain(trials, *into):
        drawn = draws(trials, *into)
        if 2 in trials:
            third, hours = trials.index(2), drawn[trials.index(2)].hours
            own = Hours(hours.speed_m_s, hours.gust_m_s, hours.temperature_c, hours.rain_mm)
            drawn[third] = replace(drawn[third], hours=own)
        return drawn

    as_dealt = play.block(0, 4)
    monkeypatch.setattr(play, "_draws", plain)
    assert differences(play.block(0, 4), as_dealt) == []


def _drawn_twice(dice: Dice):
    plan, draw = random_case(dice)
    minute = dice.whole(1, max(plan.horizon // 2, 2))
    pins = pins_of(run(plan, draw), draw, minute)
    return resumed(plan, minute), draw, forgetful(draw, pins, dice)


@on_random(_drawn_twice, cases=60)
def test_a_block_gives_the_diaries_of_trials_with_and_without_pins(case):
    plan, draw, seen = case
    block, draws = Block(plan, 3), [draw, replace(seen, pins=seen.pins), draw]
    for several in (draws, draws[1:]):
        assert block.play(several)
        for k, own in enumerate(several):
            alone = run(plan, own)
            diary = block.diary(k)
            assert all(np.array_equal(getattr(diary, word), getattr(alone, word)) for word in STAMPS)


def test_a_block_refuses_a_draw_that_does_not_fit_the_plan():
    plan, draw = random_case(Dice(7))
    block = Block(plan, 2)
    with pytest.raises(ValueError, match="work has shape"):
        block.play([draw, replace(draw, work=draw.work[:-1])])
    with pytest.raises(ValueError, match="whole minutes"):
        block.play([replace(draw, work=draw.work / 2)])
    with pytest.raises(ValueError, match="work must be >= 0"):
        block.play([draw, replace(draw, work=draw.work - 10**6)])
