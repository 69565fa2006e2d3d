"""Minutes of the past: those that are told, and for the rest as it would have gone, between the sheets.

Times that nobody reported keep what follows in order, and tell since when concrete has been curing or a
permit has been asked for. Nothing is ever learned from them.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.model import Plan
from towerpace.record.filling import Filled
from towerpace.record.told import NEVER, State
from towerpace.units import Ints


@dataclass(frozen=True)
class AsPlanned:
    """When every step would begin and end where nobody told it, (n,) each; -1 where never. [min]

    As planned, or once more as planned but for all that is told.
    """

    started: Ints
    finished: Ints


class Minutes(NamedTuple):
    """When every pinned step began and ended, (n,) each; -1 where it did not. [min]

    undone : end of the last sheet before the one that calls it done, (n,); 0 if there is none. [min]
    earliest, latest : first and last minute at which each may have ended, (n,). [min]
    """

    begun: Ints
    ended: Ints
    undone: Ints
    earliest: Ints
    latest: Ints


def minutes_of(filled: Filled, plan: Plan, *, days: list[int], until: int, planned: AsPlanned) -> Minutes:
    """When every pinned step began and ended. [min]

    days : ends of the days on which something was reported, ascending. [min]
    until : first minute after the data date. [min]
    planned : the times of what nobody timed, as far as the sheets leave room for them.

    Links whose told times run backwards are let go.
    """
    return _Past(filled, plan, sorted({*days, until}), until, planned).minutes()


@dataclass
class _Past:
    filled: Filled
    plan: Plan
    ends: list[int]
    until: int
    planned: AsPlanned

    def minutes(self) -> Minutes:
        """Lay planned times between the sheets, then keep the order forwards and backwards."""
        self._find_sheets()
        self._lay()
        self._forwards()
        self._backwards()
        return Minutes(self.begun, self.ended, self.undone, *self._span())

    def _find_sheets(self) -> None:
        """The first sheet by which each step must have begun and ended: its own, or that of what follows."""
        told, after = self.filled.told, self.plan.lists.after
        n, last = self.plan.n, len(self.ends) - 1
        self.begun_sheet, self.ended_sheet = [last] * n, [last] * n
        for step in reversed(self.filled.order):
            ended = self._sheet(told.ended_at.get(step, told.ended_by[step]))
            for later in after[step]:
                sheet = self.begun_sheet[later]  # the last one for a step of which nothing is known
                if sheet < ended and (step, later) not in self.filled.let_go:
                    ended = sheet
            self.ended_sheet[step] = ended
            begun = self._sheet(told.begun_at.get(step, told.begun_by[step]))
            self.begun_sheet[step] = min(begun, ended)

    def _sheet(self, minute: int) -> int:
        last = len(self.ends) - 1
        return last if minute == NEVER else min(bisect_left(self.ends, minute), last)

    def _lay(self) -> None:
        """Planned minutes in the span that the sheets leave to each step.

        What a sheet calls done was not done on the one before. Of what nobody calls done, and of when
        anything began, only the end of the span is known.
        """
        steps = np.array(self.filled.order, dtype=np.int64)
        done = steps[np.array(self.filled.state, dtype=np.int64)[steps] == State.DONE]
        self.undone = self._undone(done)
        ends = np.array(self.ends)
        until = ends[np.concatenate((np.array(self.begun_sheet)[steps], np.array(self.ended_sheet)[done]))]
        since = np.concatenate((np.zeros(len(steps), dtype=np.int64), self.undone[done]))
        wanted = np.concatenate((self.planned.started[steps], self.planned.finished[done]))
        minutes = np.zeros(len(wanted), dtype=np.int64)
        for lower, upper in np.unique(np.stack((since, until)), axis=1).T.tolist():
            mine = (since == lower) & (until == upper)
            minutes[mine] = between_sheets(wanted[mine], since=lower, until=upper)
        self.begun, self.ended = np.full((2, self.plan.n), NONE, dtype=np.int64)
        self.begun[steps], self.ended[done] = minutes[: len(steps)], minutes[len(steps) :]

    def _undone(self, done: Ints) -> Ints:
        """End of the last sheet on which each step was not done, (n,); done : steps that are. [min]"""
        undone, ends = np.zeros(self.plan.n, dtype=np.int64), np.array([0, *self.ends])
        reported = done[np.array(self.filled.told.ended_by)[done] != NEVER]
        undone[reported] = ends[np.array(self.ended_sheet)[reported]]
        return undone

    def _span(self) -> tuple[Ints, Ints]:
        """First and last minute at which each step may have ended, (n,) each, by what is said of it alone.

        Not by when work behind it began: that mostly begins as soon as it can, so of all steps that may have
        ended by then those that just did are the likelier, and to count it as a mere bound says too early.
        """
        told = self.filled.told
        by = np.array([*self.ends, self.until])[np.array(self.ended_sheet)]
        latest = np.minimum(by, np.minimum(told.ended_by, self.until))
        earliest = np.where(self.undone > 0, self.undone + 1, 0)
        for step, minute in told.begun_at.items():
            earliest[step] = max(earliest[step], minute)
        return earliest, np.maximum(latest, earliest)

    def _forwards(self) -> None:
        """Nothing begins before what precedes it has ended; told minutes stay."""
        told, before, let_go = self.filled.told, self.plan.lists.before, self.filled.let_go
        begun, ended = self.begun.tolist(), self.ended.tolist()
        for step in self.filled.order:
            earliest = max(
                (ended[p] for p in before[step] if not let_go or (p, step) not in let_go), default=0
            )
            begun[step] = told.begun_at.get(step, max(begun[step], earliest))
            if step in told.instant:
                begun[step] = ended[step] = max(int(self.plan.date[step]), earliest)
            elif ended[step] != NONE:
                ended[step] = told.ended_at.get(step, max(ended[step], begun[step]))
        self._begun, self._ended = begun, ended

    def _backwards(self) -> None:
        """Nothing ends after what follows it has begun; where told minutes do, the link is let go."""
        told, state, after = self.filled.told, self.filled.state, self.plan.lists.after
        begun, ended = self._begun, self._ended
        for step in reversed(self.filled.order):
            latest = self.until
            for later in after[step]:
                if state[later] < State.BEGUN or (step, later) in self.filled.let_go:
                    continue
                if ended[step] > begun[later] and step in told.ended_at:
                    self.filled.let_go.add((step, later))
                else:
                    latest = min(latest, begun[later])
            if ended[step] != NONE:
                ended[step] = min(ended[step], latest)
                latest = ended[step]
            begun[step] = min(begun[step], latest, self.until - 1)
        self.begun, self.ended = np.array(begun), np.array(ended)


def between_sheets(wanted: Ints, *, since: int, until: int) -> Ints:
    """Minutes in [since, until - 1], in order: those wanted there stay, what lies outside goes beside them.

    Minutes wanted before the span share the time up to the first that stays, later ones that after the last,
    evenly; where none stays they share all of it, each side by the number of its minutes. [min]

    >>> between_sheets(np.array([3, 7, 5, 7]), since=0, until=11).tolist()
    [3, 7, 5, 7]
    >>> between_sheets(np.array([113, 6, -1]), since=0, until=11).tolist()
    [7, 6, 9]
    """
    minutes = np.where(wanted == NONE, np.iinfo(np.int64).max, wanted.astype(np.int64))
    early, late = minutes < since, minutes >= until
    inside = minutes[~early & ~late]
    if len(inside):
        first, last = int(inside.min()), int(inside.max())
    else:
        first = last = since + max(until - 1 - since, 0) * int(early.sum()) // max(len(minutes), 1)
    laid = minutes.copy()
    laid[early] = since + _evenly(minutes[early], room=first - since)
    laid[late] = last + _evenly(minutes[late], room=max(until - 1 - last, 0))
    return laid


def _evenly(minutes: Ints, *, room: int) -> Ints:
    """Places of minutes from 0 to a room, evenly by their order; equal ones share a place."""
    values, place = np.unique(minutes, return_inverse=True)
    return (2 * place + 1) * room // (2 * max(len(values), 1))
