"""Units that leave the site, or come to it, with an activity: a hoist that is taken down, a second crane.

A unit that leaves is taken for the activity and never given back. The last units leave only when nothing
that may still happen needs them: such an activity waits for every step that fewer units could not serve,
remakes and return visits among them. So no step lacks its unit, and nothing goes up by a hoist that is gone.
Failures and other stops are of one unit: where some units stay, each that leaves has a pool of its own which
its stops need and its leaving keeps, so that they do not befall the units that stay.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from towerpace.plan.arrays import ragged
from towerpace.plan.columns import Handed, Units
from towerpace.plan.parts import Pool
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import FIRST, activity_begun, activity_done
from towerpace.scenario.schema import Settings
from towerpace.units import Ints


@dataclass(frozen=True, slots=True)
class Leaving:
    """What leaves with an activity: numbers of units, ascending, the highest that are still there.

    stay : how many units are there afterwards, of those that leave in the order of the file.
    """

    activity: str
    resource: str
    units: range

    @property
    def stay(self) -> int:
        """Units that are there afterwards."""
        return self.units[0] - 1


def leavings(settings: Settings) -> Iterator[Leaving]:
    """Every resource that leaves with an activity, in the order of the file."""
    left: dict[str, int] = {}
    for name, activity in settings.activity.items():
        for resource, quantity in activity.removes.items():
            there = left.get(resource, settings.resource[resource].count)
            stay = 0 if quantity == "all" else there - int(quantity)
            left[resource] = stay
            if stay < there:
                yield Leaving(name, resource, range(stay + 1, there + 1))


def _place_of(resource: str, unit: int) -> str:
    return f"place of {resource} {unit}"


def _has_place(settings: Settings, resource: str, unit: int) -> bool:
    """Whether a unit leaves while others of its resource stay."""
    own = [leaving for leaving in leavings(settings) if leaving.resource == resource]
    return any(unit in leaving.units for leaving in own) and min(leaving.stay for leaving in own) > 0


def stop_needs(draft: Draft, resource: str, unit: int) -> Units:
    """What a stop of one unit takes: a unit, and its own place where it may have left before others."""
    place = {_place_of(resource, unit): 1} if _has_place(draft.settings, resource, unit) else {}
    return draft.units({resource: 1} | place)


def add_places(draft: Draft) -> None:
    """A pool for each unit that leaves while others stay."""
    for leaving in leavings(draft.settings):
        for unit in leaving.units:
            if _has_place(draft.settings, leaving.resource, unit):
                draft.pool(Pool(_place_of(leaving.resource, unit), 1, kind="one unit"))


def taken_for_good(draft: Draft, activity: str) -> dict[str, int]:
    """Pools that an activity takes and never gives back."""
    taken: dict[str, int] = {}
    for leaving in leavings(draft.settings):
        if leaving.activity == activity:
            taken[leaving.resource] = len(leaving.units)
            for unit in leaving.units:
                if _has_place(draft.settings, leaving.resource, unit):
                    taken[_place_of(leaving.resource, unit)] = 1
    return taken


def add_awaited(draft: Draft, activity: str) -> list[Handed]:
    """Units that an activity brings are kept from the first minute on; what gives them at its end."""
    gives = []
    for resource, quantity in draft.settings.activity[activity].brings.items():
        needs, tags = draft.units({resource: quantity}), draft.tags(kind="absence")
        name = f"{resource} before {activity}"
        kept = draft.add(name, needs=needs, keeps=needs.pools, rank=FIRST, tags=tags)
        gives.append(Handed(needs, kept))
    return gives


def hold_leavings(draft: Draft) -> None:
    """Let an activity wait for all that the units left after it could not do; when all else is written."""
    written = draft.written
    for leaving in leavings(draft.settings):
        brought = [] if leaving.stay else draft.settings.activity.items()
        waits = [activity_done(name) for name, other in brought if leaving.resource in other.brings]
        own = draft.ends.get(activity_begun(leaving.activity), draft.ends[activity_done(leaving.activity)])
        written.before[own] = [*written.before[own], *waits, *_missing(draft, leaving).tolist()]


def _missing(draft: Draft, leaving: Leaving) -> Ints:
    """Steps of others that need more units than stay; stops of units are no reason to stay."""
    written = draft.written
    pool = draft.units({leaving.resource: 1}).pools[0]
    needs, quantities = ragged(written.needs), ragged(written.quantities)
    steps = needs.owners[(needs.values == pool) & (quantities.values > leaving.stay)]
    tags = np.array([t.kind == leaving.activity for t in written.tag_table], dtype=np.bool_)
    others = ~np.array(written.optional, dtype=np.bool_) & ~tags[np.array(written.tag, dtype=np.int64)]
    missing: Ints = steps[others[steps]]
    return missing
