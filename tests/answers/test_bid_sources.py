"""Sources of spread: what is off is planned, what is on is drawn as before, and the split by hand."""

import inspect
import pkgutil
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

import towerpace.plan
from support.panel_site import row, site
from support.small_site import made
from towerpace.answers.bid import sources_of_spread as spread
from towerpace.answers.bid.contingency import no_uncertainty, split
from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.prepare import prepare
from towerpace.draws import as_planned
from towerpace.plan import chance
from towerpace.plan.chance import OTHER, Law
from towerpace.plan.laws import Durations, StretchLaw
from towerpace.scenario import load
from towerpace.trials.job import Job
from towerpace.trials.run import run_trials

DAY = 1440
BY_HAND = Path(__file__).parents[2] / "scenarios" / "by_hand" / "scenario.toml"
WIDE = {"low": 5, "likely": 20, "high": 90, "shape": "pert"}
EVERYTHING = {
    "structure__slip_days": {"low": 0, "likely": 1, "high": 4, "shape": "pert"},
    "trade__panels__pace": {"p10": 0.8, "p50": 1.0, "p90": 1.4},
    "trade__seal__unit_min": WIDE,
    "delivery__late_chance": 0.5,
    "delivery__late_h": WIDE,
    "delivery__unload_min": WIDE,
    "delivery__wrong_order_chance": 0.4,
    "delivery__sort_min": WIDE,
    "family__flat__reject_chance": 0.1,
    "family__flat__handling_break_chance": 0.1,
    "family__flat__later_break_chance": 0.1,
    "family__flat__misfit_chance": 0.2,
    "family__flat__misfit_min": WIDE,
    "family__flat__remake_days": {"low": 5, "likely": 10, "high": 20, "shape": "pert"},
    "family__flat__later_found_days": 3,
    "resource__hoist__breakdown": {
        "every_h": {"low": 20, "likely": 60, "high": 200, "shape": "pert"},
        "repair_h": 4,
    },
    "mock_up": {
        "try_days": 2,
        "fix_days": {"low": 1, "likely": 2, "high": 6, "shape": "pert"},
        "pass_chance": 0.5,
        "most_tries": 3,
    },
    "risk": [
        {"name": "strike", "chance": 0.5, "on": "seal", "delay_days": 3},
        {
            "name": "new crew",
            "chance": 0.5,
            "on": "panels",
            "factor": {"low": 1.1, "likely": 1.3, "high": 2.0, "shape": "pert"},
        },
        {"name": "crane failure", "chance": 0.5, "on": "handover", "level": 2, "delay_days": 2},
    ],
}
ALL_BUT_WEATHER = (
    chance.MINUTES,
    chance.STRUCTURE,
    chance.DELIVERIES,
    chance.BREAKAGE,
    chance.BREAKDOWNS,
    chance.MOCK_UP,
    chance.RISKS,
)


@pytest.fixture(scope="module")
def everything(tmp_path_factory):
    rows = [row(level, flat=6, joints=4, day=level) for level in (1, 2, 3)]
    return site(tmp_path_factory.mktemp("everything"), rows, **EVERYTHING)


def same(a, b):
    return {word: getattr(a, word) == getattr(b, word) for word in ("work", "date", "skip")}


def test_every_law_of_chance_of_the_plan_has_a_source():
    modules = [m.name for m in pkgutil.walk_packages(towerpace.plan.__path__, "towerpace.plan.")]
    laws = {
        cls
        for name in modules
        for _, cls in inspect.getmembers(import_module(name), inspect.isclass)
        if cls.__module__ == name and issubclass(cls, Law) and cls is not Law
    }
    without_own = {cls for cls in laws if cls.source not in chance.SOURCES or cls.source == OTHER}
    assert {Durations} < laws
    assert without_own == {Durations, StretchLaw}  # these stand for the sources of what they draw


def test_the_site_has_every_source_but_weather(everything):
    assert spread.sources_of(everything) == ALL_BUT_WEATHER


def test_with_nothing_off_every_draw_is_that_of_the_forecast(everything):
    chooser = spread.without(everything, [])
    for trial in range(20):
        mine, other = chooser.draw(5, trial), everything.chooser.draw(5, trial)
        assert all(equal.all() for equal in same(mine, other).values())


def test_with_everything_off_every_draw_is_the_plan(everything):
    chooser, planned = spread.without(everything, ALL_BUT_WEATHER), as_planned(everything.tower.plan)
    for trial in range(5):
        draw = chooser.draw(5, trial)
        draw.check(everything.tower.plan)
        assert all(equal.all() for equal in same(draw, planned).values())


@pytest.mark.parametrize("source", ALL_BUT_WEATHER)
def test_a_source_that_is_off_is_planned_and_the_others_are_drawn_as_before(everything, source):
    """Wherever a draw without the source differs from the whole one, it has the planned value there, but for
    the shares of risks in minutes and dates, which lie over those of others.
    """
    plan, planned = everything.tower.plan, as_planned(everything.tower.plan)
    moved = 0
    for trial in range(10):
        whole = everything.chooser.draw(5, trial)
        draw = spread.without(everything, [source]).draw(5, trial)
        draw.check(plan)
        for word, equal in same(draw, whole).items():
            moved += int((~equal).sum())
            if source not in (chance.RISKS, chance.BREAKAGE, chance.STRUCTURE, chance.MINUTES):
                off = getattr(draw, word)[~equal]
                assert np.array_equal(off, getattr(planned, word)[~equal])
    assert moved > 0


def test_without_breakage_nothing_is_remade_and_without_risks_nothing_befalls(everything):
    plan = everything.tower.plan
    for trial in range(10):
        whole = spread.without(everything, [chance.BREAKAGE]).draw(5, trial)
        again = everything.tower.set_again
        assert whole.skip[again[again >= 0]].all()
        assert not whole.skip[everything.tower.panels].any()
        calm = spread.without(everything, [chance.RISKS]).draw(5, trial)
        assert calm.skip[plan.index["risk strike"]]


def test_a_risk_alone_stretches_the_planned_minutes(everything):
    plan, chooser = everything.tower.plan, spread.alone(everything, chance.RISKS)
    lifts = everything.tower.panels
    factors = [chooser.draw(5, trial).work[lifts] / plan.work[lifts] for trial in range(20)]
    ones = [np.all(f == 1) for f in factors]
    assert any(ones)
    assert not all(ones)
    assert all(np.ptp(f) < 0.03 and f.min() >= 1 for f in factors)  # one factor, in whole minutes of 50


def test_an_unknown_source_is_refused(everything):
    with pytest.raises(ValueError, match="no such source of spread in this plan: weather"):
        spread.without(everything, [chance.WEATHER])
    with pytest.raises(ValueError, match="no such source"):
        spread.alone(everything, "luck")


def finish_of(ready, trials=10):
    return run_trials(Job(ready.chooser, FinishMeasure(None), 1), trials=trials).outcomes.values["finish"]


BOTH_LATE = """
[activity.crown]
days = 10

[[risk]]
name = "strike"
chance = 1
on = "crown"
delay_days = 5

[mock_up]
try_days = 5
fix_days = 5
pass_chance = 0
most_tries = 2
"""


def test_two_ways_to_be_late_that_end_together_save_nothing_alone(tmp_path):
    """Planned: the crown ends on day 10. A certain strike and a certain second try both end on day 15: to be
    rid of one saves nothing, each alone makes all five days.
    """
    ready = made(tmp_path, BOTH_LATE)
    found = split(ready, finish_of(ready), p=0.8, seed=1)

    assert found.planned.calm == 10 * DAY
    assert found.total.value == 5
    parts = {part.source: part for part in found.parts}
    for source in (chance.RISKS, chance.MOCK_UP):
        assert (parts[source].off.mean, parts[source].alone.value) == (0, 5)
    assert (parts[chance.STRUCTURE].off.mean, parts[chance.STRUCTURE].alone.value) == (0, 0)
    assert (found.remainder_off, found.remainder_alone) == (5, -5)


IN_LINE = BOTH_LATE.replace("days = 10\n", 'days = 10\nafter = [{ on = "mock_up" }]\n')


def test_two_ways_to_be_late_in_line_add_up(tmp_path):
    """Mock-up 5 + 10, then strike 5, then crown 10: 30 days against 15 as planned."""
    ready = made(tmp_path, IN_LINE)
    found = split(ready, finish_of(ready), p=0.8, seed=1)

    assert (found.planned.calm, found.total.value) == (15 * DAY, 15)
    parts = {part.source: part for part in found.parts}
    assert (parts[chance.RISKS].off.mean, parts[chance.RISKS].alone.value) == (5, 5)
    assert (parts[chance.MOCK_UP].off.mean, parts[chance.MOCK_UP].alone.value) == (10, 10)
    assert (found.remainder_off, found.remainder_alone) == (0, 0)


def test_weather_is_switched_to_the_record_and_to_none_at_all():
    ready = prepare(
        load(
            BY_HAND, {"weather.generator": "blocks", "weather.replay_year": None, "weather.year_factor_sd": 0}
        )
    )
    off = spread.without(ready, [chance.WEATHER])
    first, second = (off.hours(1, trial).gust_m_s for trial in (0, 1))
    record = ready.chooser.weather.replayed(0).gust_m_s
    assert np.array_equal(first, record)
    assert np.array_equal(second, record)
    assert not np.array_equal(spread.alone(ready, chance.WEATHER).hours(1, 0).gust_m_s, record)

    calm = run_trials(Job(spread.without_weather(ready), FinishMeasure(None), 1), trials=3).outcomes
    assert (calm.values["finish"] == no_uncertainty(ready).calm).all()
    recorded = run_trials(Job(off, FinishMeasure(None), 1), trials=3).outcomes
    # The scenario is worked by hand up to this minute, with the wind as recorded.
    assert (recorded.values["finish"] == 3670).all()
