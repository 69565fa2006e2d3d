"""Trades of a gang that works through its fronts: one step a front."""

from __future__ import annotations

from math import log2

from towerpace.plan.laws import Term
from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import Front
from towerpace.plan.site.logistics import strip_pool
from towerpace.plan.site.sequence import Sequence
from towerpace.scenario.schema import GangTrade, Learning


def unit_factor(unit: int, *, rate: float, plateau: int) -> float:
    """Time of a unit over the time of the first, on the unit (Crawford) learning curve. [-]

    unit : 1, 2, ... in planned order. rate : ratio for every doubling. plateau : unit from which it stays.

    Notes
    -----
    n ** log2(rate), the unit curve of Crawford (1944); not the cumulative average curve of Wright (1936).

    >>> round(unit_factor(10, rate=0.8, plateau=100), 4)
    0.4765
    """
    return float(min(unit, plateau) ** log2(rate))


def add_gang_front(
    draft: Draft, *, name: str, trade: GangTrade, front: Front, sequence: Sequence, rank: int
) -> None:
    """One front of a gang trade; with no units it only passes on."""
    after = sequence.waits(trade, front, draft=draft, name=name)
    tags = Tags(trade=name, level=front.level, zone=front.zone)
    units = int(sequence.levels.counts[trade.column][front.spot])
    if not units:
        draft.add(Step(f"{name} {front.where}", after=after, tags=tags))
        return
    factor = units * _learned(trade.learning, front)
    if trade.difficulty:
        factor *= float(sequence.levels.difficulty[front.spot])
    chance = Chance(front.number, factor, 0.0, (Term(trade.unit_min, f"work of {name}"),), name)
    needs = dict(trade.needs) | ({strip_pool(front.zone): 1} if trade.outside else {})
    draft.add(
        Step(
            f"{name} {front.where}",
            work=draft.expected(chance),
            after=after,
            needs=needs,
            window=draft.closures.window(
                trade.calendar, limits=trade.limits, height_m=float(sequence.levels.height_m[front.floor])
            ),
            mode="work",
            rank=rank,
            place=front.where,
            tags=tags,
        ),
        chance=chance,
    )


def _learned(learning: Learning | None, front: Front) -> float:
    if learning is None:
        return 1.0
    return unit_factor(front.number + 1, rate=learning.rate, plateau=learning.plateau_fronts)
