"""The latest end of every step that leaves the finish of a trial where it is, along the links alone."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable

import numpy as np

from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Opening, Openings
from towerpace.plan.arrays import NONE
from towerpace.plan.lists import ALWAYS, START, UNBROKEN
from towerpace.plan.model import Plan
from towerpace.units import Ints

Latest = Callable[[int], int]  # the latest start for a latest end


class LatestEnds:
    """Reckons one plan backward from its finish.

    A step may end so late that each step that waits for it can still start, in the openings of its window,
    early enough to end by its own latest end. Links count, resources do not: what is late along the links
    may still hold a gang or a crane that others need. Steps that never hold the finish bind nothing.
    """

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._backward = plan.order[::-1].tolist()
        self._before = plan.before.lists
        self._optional = plan.optional.tolist()
        self._window, self._mode = plan.window.tolist(), plan.mode.tolist()

    def of(self, draw: Draw, openings: Openings, diary: Diary) -> Ints:
        """Latest end of every step of a trial that finished, (n,). [min]

        Raises `ValueError` for a trial that did not.

        Notes
        -----
        The backward pass of the critical-path method (Kelley 1961, from memory), with the latest start taken
        inside the openings of the trial.
        """
        if diary.finish is None:
            raise ValueError("a trial that did not finish has no latest ends")
        started, finished, skipped = diary.started.tolist(), diary.finished.tolist(), draw.skip.tolist()
        latest = [diary.finish] * self._plan.n
        for step in self._backward:
            if self._optional[step]:
                continue
            end, begun = latest[step], started[step]
            if skipped[step] or finished[step] == begun:
                start = end
            elif end == finished[step]:
                start = begun
            else:
                start = self._start(step, begun, finished[step], end, openings)
            for before in self._before[step]:
                latest[before] = min(latest[before], start)
        return np.array(latest, dtype=np.int64)

    def _start(self, step: int, begun: int, finished: int, end: int, openings: Openings) -> int:
        mode, window = self._mode[step], self._window[step]
        if mode == ALWAYS or window == NONE:
            return end - (finished - begun)
        opening = openings[window]
        if mode == START:
            return max(begun, last_open(opening, end - (finished - begun)))
        if mode == UNBROKEN:
            return max(begun, last_piece(opening, end, work=int(self._plan.work[step])))
        return max(begun, last_start(opening, end, work=opening.before(finished) - opening.before(begun)))


def last_open(opening: Opening, minute: int) -> int:
    """The last open minute up to this one; -1 if there is none."""
    opens, closes = opening.opens, opening.closes
    k = bisect_right(opens, minute) - 1
    return min(minute, closes[k] - 1) if k >= 0 else -1


def last_start(opening: Opening, end: int, *, work: int) -> int:
    """The last open minute from which so many open minutes pass by `end`; -1 if there is none. [min]"""
    goal = opening.before(end) - work
    if goal < 0:
        return -1
    k = bisect_right(opening.open_before, goal) - 1
    return opening.opens[k] + goal - opening.open_before[k] if k < len(opening.opens) else -1


def last_piece(opening: Opening, end: int, *, work: int) -> int:
    """The last minute from which so many minutes in one piece pass by `end`; -1 if there is none. [min]"""
    opens, closes = opening.opens, opening.closes
    k = bisect_right(opens, end) - 1
    while k >= 0:
        piece_end, first = min(closes[k], end), k
        while first > 0 and closes[first - 1] == opens[first]:  # shifts that touch leave nothing closed
            first -= 1
        if piece_end - opens[first] >= work:
            return piece_end - work
        k = first - 1
    return -1
