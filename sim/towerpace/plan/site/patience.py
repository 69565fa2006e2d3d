"""Trucks that wait at the gate only so long: they leave and are back later.

No running step is broken off and nobody looks ahead: the place of a truck at the gate is a pool of its own.
Unloading needs the place, and so does leaving; whoever comes first keeps the other from it. The steps of
leaving are optional; once unloading has begun they never start.
"""

from __future__ import annotations

from towerpace.plan.laws import DAY_MIN, HOUR_MIN
from towerpace.plan.parts import Pool, Step, Tags
from towerpace.plan.site.crates import FIRST, NO_ROW
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import Front
from towerpace.plan.site.logistics import place_at_gate
from towerpace.scenario.schema import Settings

TURNED_AWAY = "turned away"


def add_patience(
    draft: Draft, settings: Settings, *, front: Front, truck: str, arrives: str, window: str
) -> list[str]:
    """Every time that a truck may leave; the pools that unloading it must keep, none if it has all patience.

    window : in whose hours it waits.
    """
    delivery = settings.delivery
    if delivery is None or delivery.turn_away_h is None or delivery.back_days is None:
        return []
    place, last = place_at_gate(truck), arrives
    draft.pools.append(Pool(place, 1, order=settings.resource[delivery.resource].order))
    tags = Tags(trade=NO_ROW, level=front.level, zone=front.zone, kind=TURNED_AWAY)
    for k in range(1, (delivery.turned_away_at_most or 0) + 1):
        waits = Step(
            f"{truck} waits {k}",
            work=round(float(delivery.turn_away_h) * HOUR_MIN),
            after=[last],
            window=window,
            mode="work",
            optional=True,
            tags=tags,
        )
        leaves = Step(
            f"{truck} {TURNED_AWAY} {k}",
            work=round(float(delivery.back_days) * DAY_MIN),
            after=[draft.add(waits)],
            needs={place: 1},
            rank=FIRST,
            optional=True,
            tags=tags,
        )
        last = draft.add(leaves)
    return [place]
