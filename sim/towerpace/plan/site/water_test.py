"""The water test of the lowest levels, front by front, before anything covers their joints."""

from __future__ import annotations

from towerpace.plan.laws import HOUR_MIN, Term
from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import Front, water_test_name
from towerpace.plan.site.sequence import Sequence
from towerpace.scenario.once import WATER_TEST
from towerpace.scenario.schema import WaterTest


def add_water_test(draft: Draft, front: Front, *, sequence: Sequence, rank: int) -> None:
    """The test of one front, if its level is tested."""
    test = sequence.settings.water_test
    if test is None or not sequence.tested(front.floor):
        return
    chance = Chance(front.number, factor=HOUR_MIN, terms=(Term(test.hours, "hours of a water test"),))
    draft.add(
        Step(
            water_test_name(front),
            work=draft.expected(chance),
            after=sequence.waits_for(test.after, front, draft=draft, name="water test"),
            needs=dict(test.needs),
            window=_window(draft, test, float(sequence.levels.height_m[front.floor])),
            mode="work",
            rank=rank,
            place=front.where,
            tags=Tags(trade=WATER_TEST, level=front.level, zone=front.zone, kind=WATER_TEST),
        ),
        chance=chance,
    )


def _window(draft: Draft, test: WaterTest, height_m: float) -> str:
    return draft.closures.window(test.calendar, limits=test.limits, height_m=height_m)
