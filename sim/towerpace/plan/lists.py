"""The arrays of a plan as Python lists, made once: a clock that steps one by one reads lists faster."""

from __future__ import annotations

import numpy as np

from towerpace.plan.arrays import PlanArrays, Ragged
from towerpace.plan.parts import MODES

ALWAYS, START, WORK, UNBROKEN = range(len(MODES))
Pairs = list[list[tuple[int, int]]]
Triples = list[list[tuple[int, int, int]]]


class PlanLists:
    """Per step: window, mode, minutes that must fit, rank, place, line, order, needs, gives.

    expected : minutes that must fit into the shift at the start; 0 but in mode "start". [min]
    first_come : whether its pools are served first come. line : number of its line or -1.
    needs : pool and quantity. gives : pool, quantity and taker (-1 for arrivals).
    """

    def __init__(self, plan: PlanArrays) -> None:
        self.window: list[int] = plan.window.tolist()
        self.mode: list[int] = plan.mode.tolist()
        self.expected: list[int] = np.where(plan.mode == START, plan.expected, 0).tolist()
        self.rank: list[int] = plan.rank.tolist()
        self.place: list[int] = plan.place.tolist()
        self.before, self.after = plan.before.lists, plan.after.lists
        self.n_before: list[int] = np.diff(plan.before.start).tolist()
        self.needs: Pairs = [list(zip(*p, strict=True)) for p in _together(plan.needs, plan.quantities)]
        gives = _together(plan.give_pool, plan.give_quantity, plan.give_taker)
        self.gives: Triples = [list(zip(*g, strict=True)) for g in gives]
        self.first_come: list[bool] = plan.first_come.tolist()
        self.line: list[int] = plan.line.tolist()
        self.moves = [None if m is None else m.tolist() for m in plan.pools.moves]


def _together(*lists: Ragged) -> zip[tuple[list[int], ...]]:
    return zip(*(x.lists for x in lists), strict=True)
