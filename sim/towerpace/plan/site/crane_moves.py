"""Moves of a floor crane, and the strips that its lifts keep clear.

Where a move between levels needs the hoist, moving in falls into two steps: the first takes gang, crane,
strips and hoist together and lasts as long as the change of level; the second moves along the level and sets
up. So nobody keeps a hoist while asking for a crane, nor a crane while asking for a hoist.

What this leaves out: the first step asks for the hoist even if the crane is on the level already; it then
takes no time, but may wait for a trip under way. The second cannot know where on the level the crane stood:
it counts a move from zone to zone always, and the way past an obstacle falls into the first.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from towerpace.plan.parts import Place
from towerpace.plan.site.fronts import Front, strip_pool
from towerpace.scenario.schema import Crane, Settings


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

    @cached_property
    def _front(self) -> dict[Place, Front]:
        return {front.where: front for front in self.fronts}

    @cached_property
    def _landing(self) -> dict[Place, Front]:
        return {landing(front): front for front in self.fronts}

    def __call__(self, a: Place, b: Place) -> int:
        """Minutes of a move; 0 where there is none, because a crane is always left on a front. [min]"""
        if a in self._front and b in self._front:
            return self.minutes(self._front[a], self._front[b])
        if a in self._front and b in self._landing:
            return self.to_level(self._front[a], self._landing[b])
        return 0

    def minutes(self, a: Front, b: Front) -> int:
        """The whole way from front to front, without setting up there. [min]"""
        crane = self.crane
        if a.number == b.number:
            return 0
        if a.floor == b.floor:
            blocked = any({a.zone, b.zone} == set(pair) for pair in crane.obstacles)
            return round(crane.zone_move_min + (crane.obstacle_min or 0.0 if blocked else 0.0))
        between = abs(a.floor - b.floor) - 1
        return round(crane.level_move_min + crane.per_level_min * between)

    def to_level(self, a: Front, b: Front) -> int:
        """The share of the way in which the resources of a move between levels are taken. [min]"""
        return max(self.minutes(a, b) - self.along_level_min, 0)
