"""Pools of a site: resources, floor slots, strips; crates, and the moves of floor cranes between fronts.

Where a move between levels needs the hoist, moving in falls into two steps: the first takes gang, crane,
strips and hoist together and lasts as long as the change of level; the second moves along the level and sets
up. So nobody keeps a hoist while asking for a crane, nor a crane while asking for a hoist.

What this leaves out: the first step asks for the hoist even if the crane is on the level already; it then
takes no time, but may wait for a trip under way. The second cannot know where on the level the crane stood:
it counts a move from zone to zone always, and the way past an obstacle falls into the first.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from towerpace.plan.parts import Order, Place, Pool
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import Front, strip_pool
from towerpace.plan.site.numbers import Numbers
from towerpace.scenario.levels import Levels
from towerpace.scenario.schema import Crane, Settings
from towerpace.units import Floats, Ints

YARD, FACTORY, GATE = "yard slots", "factory line", "gate"
COUNTED_LATER = 2**31 - 2  # units of a pool while its steps are written


@dataclass(frozen=True, slots=True)
class Crate:
    """Panels of one family for one front: number on the front, family, how many, and how they are lifted.

    method : name of a way of lifting, None for the floor crane. straight : whether it comes neither by hoist
    nor to a floor slot.
    """

    number: int
    family: str
    panels: int
    method: str | None = None
    straight: bool = False


@dataclass(frozen=True, slots=True)
class Supplied:
    """Crates of a front in setting order, their trips, and the step that took their floor slots.

    go_down : writes the way down of an empty crate after a step, at the end of which its floor slot comes
        free; None where crates do not go down and the slot comes free with the last panel.
    ground : steps that took the room of crates on the ground, by the way of lifting.
    """

    crates: list[Crate]
    trips: list[int]
    slots: int | None
    go_down: Callable[[Crate, int], None] | None = None
    ground: Mapping[str, int] = field(default_factory=dict)


def slot_pool(level: int) -> str:
    """Room for crates on one level."""
    return f"floor slots L{level}"


def first_place(fronts: Sequence[Front], unit: int) -> str:
    """Where a floor crane begins: on the lowest level, one crane after the other along its zones."""
    zones = [front.where for front in fronts if front.floor == 0]
    return zones[(unit - 1) % len(zones)]


def add_pools(draft: Draft, levels: Levels, fronts: tuple[Front, ...]) -> None:
    """Every pool that a plan of this scenario may ask for."""
    settings = draft.settings
    for name, resource in settings.resource.items():
        order = _order(resource.order)
        if settings.crane is not None and name == settings.crane.resource:
            at = [first_place(fronts, unit) for unit in range(1, resource.count + 1)]
            draft.pool(Pool(name, resource.count, order=order, at=at))
        else:
            line = GATE if name == gate_resource(settings) else None
            units = partial(_count_of, name)
            draft.pool(Pool(name, COUNTED_LATER, order=order, line=line), units=units)
    for zone in levels.zones:
        draft.pool(Pool(strip_pool(zone), whole_strip(settings), kind="strip"))
    _add_supply_pools(draft)
    if settings.storage is not None:
        for level in levels.levels:
            # With a yard, floor slots are asked for in planned order, before trucks are let in.
            line = slot_pool(level) if settings.yard is not None else None
            draft.pool(Pool(slot_pool(level), COUNTED_LATER, line=line, kind="floor slots"), units=_slots)


def _count_of(name: str, numbers: Numbers) -> int:
    return numbers.settings.resource[name].count


def _slots(numbers: Numbers) -> int:
    assert numbers.settings.storage is not None, "asked for only with storage"
    return numbers.settings.storage.slots_per_level


def _yard_slots(numbers: Numbers) -> int:
    assert numbers.settings.yard is not None, "asked for only with a yard"
    return numbers.settings.yard.slots


def _order(order: str) -> Order:
    return "first come" if order == "first come" else "rank"


def gate_resource(settings: Settings) -> str | None:
    """The resource at which trucks stand in line; None where they do not.

    They do with a yard, unless a truck may be turned away: in a line it would hold the others meanwhile.
    """
    delivery = settings.delivery
    if settings.yard is None or delivery is None or delivery.turn_away_h is not None:
        return None
    return delivery.resource


def _add_supply_pools(draft: Draft) -> None:
    settings = draft.settings
    if settings.yard is not None and settings.delivery is not None:
        order = _order(settings.resource[settings.delivery.resource].order)
        line = None if gate_resource(settings) is None else GATE
        draft.pool(Pool(YARD, COUNTED_LATER, order=order, line=line, kind="yard slots"), units=_yard_slots)
    if settings.factory is not None:
        draft.pool(Pool(FACTORY, 1, kind="factory"))


def whole_strip(settings: Settings) -> int:
    """Units of a strip: who works on it takes all, a lift beside it takes one, so two lifts may share it."""
    crane = settings.crane
    return max(settings.resource[crane.resource].count, 1) if crane is not None and crane.drop_zone else 1


def kept_clear(zone: str, settings: Settings, *, zones: tuple[str, ...]) -> dict[str, int]:
    """Strips that a lift in a zone takes: its own, then those beside it in the ring, nearest first."""
    at, n, crane = zones.index(zone), len(zones), settings.crane
    reach = 0 if crane is None else crane.drop_zone
    beside = [side * k for k in range(1, reach + 1) for side in (1, -1)]
    taken = {strip_pool(zone): whole_strip(settings)}
    for k in beside:
        taken.setdefault(strip_pool(zones[(at + k) % n]), 1)
    return taken


def landing(front: Front) -> Place:
    """Where a crane stands that has reached the level of a front, and not yet its zone."""
    return f"{front.where}, level reached"


@dataclass(frozen=True)
class CraneMoves:
    """Minutes from place to place: the fronts of a tower and their landings."""

    crane: Crane
    fronts: tuple[Front, ...]

    @property
    def along_level_min(self) -> int:
        """What the second step of moving in counts for the way along the level. [min]"""
        return round(min(self.crane.zone_move_min, self.crane.level_move_min))

    def table(self, places: Sequence[Place]) -> Ints:
        """Minutes of every move; 0 where there is none, because a crane is always left on a front. [min]"""
        fronts: dict[Place, int] = {front.where: front.number for front in self.fronts}
        landings = {landing(front): front.number for front in self.fronts}
        minutes = np.zeros((len(places), len(places)), dtype=np.int64)
        stands = np.array([fronts.get(place, -1) for place in places], dtype=np.int64)
        lands = np.array([landings.get(place, -1) for place in places], dtype=np.int64)
        way = self.ways()
        rows, fronts_at, landings_at = (np.flatnonzero(at) for at in (stands >= 0, stands >= 0, lands >= 0))
        minutes[np.ix_(rows, fronts_at)] = way[np.ix_(stands[rows], stands[fronts_at])]
        to_level = np.maximum(way - self.along_level_min, 0)
        minutes[np.ix_(rows, landings_at)] = to_level[np.ix_(stands[rows], lands[landings_at])]
        return minutes

    def ways(self) -> Ints:
        """The whole way from front to front, without setting up there, (n_fronts, n_fronts). [min]"""
        crane = self.crane
        floor = np.array([front.floor for front in self.fronts], dtype=np.int64)
        apart = np.abs(floor[:, None] - floor)
        along: Floats = float(crane.zone_move_min) + float(crane.obstacle_min or 0.0) * self._blocked()
        between = float(crane.level_move_min) + float(crane.per_level_min) * (apart - 1)
        ways = np.rint(np.where(apart == 0, along, between)).astype(np.int64)
        np.fill_diagonal(ways, 0)
        return ways

    def _blocked(self) -> Floats:
        """1 where something stands in the way between the zones of two fronts, else 0."""
        zones = np.array([front.zone for front in self.fronts])
        blocked = np.zeros((len(zones), len(zones)))
        for a, b in self.crane.obstacles:
            there = (zones[:, None] == a) & (zones == b)
            blocked[there | there.T] = 1.0
        return blocked
