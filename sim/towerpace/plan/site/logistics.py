"""Pools of a site: resources, floor slots, strips, and the moves of floor cranes between fronts."""

from __future__ import annotations

from collections.abc import Iterator

from towerpace.plan.parts import Pool
from towerpace.plan.site.crane_moves import CraneMoves, whole_strip
from towerpace.plan.site.fronts import Front, strip_pool
from towerpace.scenario.levels import Levels
from towerpace.scenario.schema import Crane, Settings

YARD, FACTORY, GATE = "yard slots", "factory line", "gate"
AT_GATE = "place at the gate of "


def place_at_gate(truck: str) -> str:
    """What a truck that may be turned away takes along when it leaves."""
    return f"{AT_GATE}{truck}"


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
            line = GATE if name == gate_resource(settings) else None
            yield Pool(name, resource.count, order=resource.order, line=line)
    for zone in levels.zones:
        yield Pool(strip_pool(zone), whole_strip(settings))
    yield from _supply_pools(settings)
    if settings.storage is not None:
        for level in levels.levels:
            # With a yard, floor slots are asked for in planned order, before trucks are let in.
            line = slot_pool(level) if settings.yard is not None else None
            yield Pool(slot_pool(level), settings.storage.slots_per_level, line=line)


def gate_resource(settings: Settings) -> str | None:
    """The resource at which trucks stand in line; None where they do not.

    They do with a yard, unless a truck may be turned away: in a line it would hold the others meanwhile.
    """
    delivery = settings.delivery
    if settings.yard is None or delivery is None or delivery.turn_away_h is not None:
        return None
    return delivery.resource


def _supply_pools(settings: Settings) -> Iterator[Pool]:
    if settings.yard is not None and settings.delivery is not None:
        order = settings.resource[settings.delivery.resource].order
        line = None if gate_resource(settings) is None else GATE
        yield Pool(YARD, settings.yard.slots, order=order, line=line)
    if settings.factory is not None:
        yield Pool(FACTORY, 1)


def _crane_pool(name: str, count: int, crane: Crane, *, fronts: tuple[Front, ...], order: str) -> Pool:
    """Floor cranes begin on the lowest level, one after the other along its zones."""
    zones = [front.where for front in fronts if front.floor == 0]
    at = [zones[k % len(zones)] for k in range(count)]
    moves = CraneMoves(crane, fronts)
    return Pool(name, count, order="first come" if order == "first come" else "rank", at=at, moves=moves)
