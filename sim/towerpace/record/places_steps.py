"""The steps of a place, in the order in which an amount counts them."""

from __future__ import annotations

from towerpace.plan.model import Plan
from towerpace.plan.site.activities import ACTIVITIES
from towerpace.plan.site.leave_outs import LEAVE_OUTS as LEFT_OUT_ROW
from towerpace.plan.site.lifting import LIFT
from towerpace.plan.site.risks import RISKS
from towerpace.plan.site.tower import Tower
from towerpace.record.step_index import StepIndex
from towerpace.record.words import HANDOVER, MASTS, RISK, SUPPLY_KINDS, Place
from towerpace.scenario.once import LEAVE_OUTS, MOCK_UP, WATER_TEST


def steps_of(place: Place, tower: Tower, index: StepIndex) -> list[int]:
    """Steps of a place, the first that is done first.

    Of a front of panels these are the lifts as planned; of a front of gangs its coats.
    """
    what, level, zone = place
    if what in SUPPLY_KINDS:
        row, kind = SUPPLY_KINDS[what]
        # Crates of panels that are left out are emptied when they come up: they go down before the others.
        return sorted(index.of(row, level, zone, kind), key=lambda step: not _set_aside(tower.plan, step))
    if what == HANDOVER and level is not None:
        return [int(tower.handover[tower.levels.index(level)])]
    if level is None:
        if what.startswith(f"{RISK} "):
            return index.of(RISKS, kind=what, remedies=True)
        return index.once(ACTIVITIES, what, remedies=what == MOCK_UP)
    row, kind = _ROWS.get(what, (what, LIFT))
    return (
        index.of(row, level, zone, kind)
        or index.of(what, level, zone)
        or index.of(ACTIVITIES, level, "", what)
    )


def _set_aside(plan: Plan, step: int) -> bool:
    return any(plan.tags(previous).kind == "set aside" for previous in plan.before[step].tolist())


_ROWS = {
    MASTS: ("", "mast extension"),
    WATER_TEST: (WATER_TEST, WATER_TEST),
    LEAVE_OUTS: (LEFT_OUT_ROW, LIFT),
}
