"""Minutes of the past: those that are told, and for the rest the planned order squeezed between the sheets.

Times that nobody reported are needed to keep what follows in order; the forecast depends on them through
order alone. Nothing is ever learned from them.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.model import Plan
from towerpace.record.filling import Filled
from towerpace.record.told import NEVER, State
from towerpace.units import Ints


@dataclass(frozen=True)
class AsPlanned:
    """When every step would begin and end if all went as planned, (n,) each; -1 where never. [min]"""

    started: Ints
    finished: Ints


def minutes_of(
    filled: Filled, plan: Plan, *, days: list[int], until: int, planned: AsPlanned
) -> tuple[Ints, Ints]:
    """When every pinned step began and ended, (n,) each; -1 where it did not. [min]

    days : ends of the days on which something was reported, ascending. [min]
    until : first minute after the data date. [min]
    planned : the order in which nobody's times are squeezed.

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

    def minutes(self) -> tuple[Ints, Ints]:
        """Squeeze, then keep the order forwards and backwards."""
        self._find_sheets()
        self._squeeze()
        self._forwards()
        self._backwards()
        return self.begun, self.ended

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

    def _squeeze(self) -> None:
        """Planned minutes mapped in order into the span between two sheets into which each step falls."""
        steps = np.array(self.filled.order, dtype=np.int64)
        done = steps[np.array(self.filled.state, dtype=np.int64)[steps] == State.DONE]
        sheets = np.concatenate((np.array(self.begun_sheet)[steps], np.array(self.ended_sheet)[done]))
        wanted = np.concatenate((self.planned.started[steps], self.planned.finished[done]))
        minutes = np.zeros(len(wanted), dtype=np.int64)
        for sheet, until in enumerate(self.ends):
            mine, since = sheets == sheet, self.ends[sheet - 1] if sheet else 0
            minutes[mine] = _squeezed(wanted[mine], since=since, until=until)
        self.begun, self.ended = np.full((2, self.plan.n), NONE, dtype=np.int64)
        self.begun[steps], self.ended[done] = minutes[: len(steps)], minutes[len(steps) :]

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


def _squeezed(wanted: Ints, *, since: int, until: int) -> Ints:
    """Minutes mapped linearly and in order onto [since, until - 1]; what has none comes last. [min]

    >>> _squeezed(np.array([100, 200, 150, -1]), since=0, until=11).tolist()
    [0, 10, 5, 10]
    """
    known = wanted >= 0
    if not known.any():
        return np.full(len(wanted), since, dtype=np.int64)
    first, last = int(wanted[known].min()), int(wanted[known].max())
    minutes = np.where(known, wanted, last)
    room = max(until - 1 - since, 0)
    squeezed: Ints = since + (minutes - first) * room // max(last - first, 1)
    return squeezed
