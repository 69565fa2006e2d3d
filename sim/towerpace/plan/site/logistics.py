"""Pools of a site: resources, floor slots, strips, and the moves of floor cranes between fronts."""

from __future__ import annotations

from collections.abc import Iterator

from towerpace.plan.parts import Pool
from towerpace.plan.site.fronts import Front
from towerpace.scenario.levels import Levels
from towerpace.scenario.schema import Crane, Settings


def strip_pool(zone: str) -> str:
    """The air and the ground under the lifts of one zone, all levels together."""
    return f"strip {zone}"


def slot_pool(level: int) -> str:
    """Room for crates on one level."""
    return f"floor slots L{level}"


def pools_of(settings: Settings, levels: Levels, fronts: tuple[Front, ...]) -> Iterator[Pool]:
    """Every pool that a plan of this scenario may ask for."""
    crane = settings.crane
    for name, resource in settings.resource.items():
        if crane is not None and name == crane.resource:
            yield _crane_pool(name, resource.count, crane, fronts=fronts, order=resource.order)
        else:
            yield Pool(name, resource.count, order=resource.order)
    for zone in levels.zones:
        yield Pool(strip_pool(zone), 1)
    if settings.storage is not None:
        for level in levels.levels:
            yield Pool(slot_pool(level), settings.storage.slots_per_level)


def _crane_pool(name: str, count: int, crane: Crane, *, fronts: tuple[Front, ...], order: str) -> Pool:
    """Floor cranes begin on the lowest level, one after the other along its zones."""
    by_name = {front.where: front for front in fronts}
    zones = [front.where for front in fronts if front.floor == 0]

    def minutes(a: object, b: object) -> int:
        return move_min(by_name[str(a)], by_name[str(b)], crane=crane)

    at = [zones[k % len(zones)] for k in range(count)]
    return Pool(name, count, order="first come" if order == "first come" else "rank", at=at, moves=minutes)


def move_min(a: Front, b: Front, *, crane: Crane) -> int:
    """Minutes a floor crane needs from front to front, without setting up there. [min]"""
    if a.number == b.number:
        return 0
    if a.floor == b.floor:
        return round(crane.zone_move_min)
    between = abs(a.floor - b.floor) - 1
    return round(crane.level_move_min + crane.per_level_min * between)
