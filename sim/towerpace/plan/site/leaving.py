"""Units that leave the site, or come to it, with an activity: a hoist that is taken down, a second crane.

A unit that leaves is taken for the activity and never given back. The last units leave only when nothing
that may still happen needs them: such an activity waits for every step that fewer units could not serve,
remakes and return visits among them. So no step lacks its unit, and nothing goes up by a hoist that is gone.
Failures and other stops are of one unit: where some units stay, each that leaves has a pool of its own which
its stops need and its leaving keeps, so that they do not befall the units that stay.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from towerpace.plan.parts import Give, Pool, Step, Tags
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import FIRST, activity_name
from towerpace.scenario.schema import Settings


@dataclass(frozen=True, slots=True)
class Leaving:
    """What leaves with an activity: numbers of units, ascending, the highest that are still there.

    stay : how many units are there afterwards, of those that leave in the order of the file.
    """

    activity: str
    resource: str
    units: tuple[int, ...]

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
                yield Leaving(name, resource, tuple(range(stay + 1, there + 1)))


def _place_of(resource: str, unit: int) -> str:
    return f"place of {resource} {unit}"


def _has_place(settings: Settings, resource: str, unit: int) -> bool:
    """Whether a unit leaves while others of its resource stay."""
    own = [leaving for leaving in leavings(settings) if leaving.resource == resource]
    return any(unit in leaving.units for leaving in own) and min(leaving.stay for leaving in own) > 0


def stop_needs(draft: Draft, resource: str, unit: int) -> dict[str, int]:
    """What a stop of one unit takes: a unit, and its own place where it may have left before others."""
    place = {_place_of(resource, unit): 1} if _has_place(draft.settings, resource, unit) else {}
    return {resource: 1} | place


def add_places(draft: Draft) -> None:
    """A pool for each unit that leaves while others stay."""
    for leaving in leavings(draft.settings):
        for unit in leaving.units:
            if _has_place(draft.settings, leaving.resource, unit):
                draft.pool(Pool(_place_of(leaving.resource, unit), 1))


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


def add_awaited(draft: Draft, activity: str) -> list[Give]:
    """Units that an activity brings are kept from the first minute on; what gives them at its end."""
    gives = []
    for resource, quantity in draft.settings.activity[activity].brings.items():
        kept = Step(
            f"{resource} before {activity}",
            needs={resource: quantity},
            keeps=[resource],
            rank=FIRST,
            tags=Tags(kind="absence"),
        )
        gives.append(Give(resource, quantity, draft.add(kept)))
    return gives


def hold_leavings(draft: Draft) -> None:
    """Let an activity wait for all that the units left after it could not do; when all else is written."""
    for leaving in leavings(draft.settings):
        brought = [] if leaving.stay else draft.settings.activity.items()
        waits = [activity_name(name) for name, other in brought if leaving.resource in other.brings]
        waits += [step.name for step in draft.steps if _misses(step, leaving)]
        own = _first_step(draft, leaving.activity)
        step = draft.steps[own]
        draft.steps[own] = replace(step, after=list(dict.fromkeys([*step.after, *waits])))


def _first_step(draft: Draft, activity: str) -> int:
    first = f"{activity}: lift 1"
    return draft.index.get(first, draft.index[activity_name(activity)])


def _misses(step: Step, leaving: Leaving) -> bool:
    """Whether a step of others needs more units than stay; stops of units are no reason to stay."""
    is_own = step.tags.kind == leaving.activity
    return not step.optional and not is_own and step.needs.get(leaving.resource, 0) > leaving.stay
