"""Where the time of every front went, by trade, level and cause.

The clock of a trade on a front runs from the end of what comes before it on its own level (handover, the
earlier trade, closing-in) to its last step's end. Its own steps bring their minutes from `waits`; the gaps
before and between them belong to what was still missing: crates, curing, other levels, other trades.
Hoisting and delivery have no front of their own: their clocks run from ready to finished, step by step.
All causes of a row add up exactly to the minutes its clocks ran.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.ledger.gaps import GapArrays, book_gaps
from towerpace.answers.ledger.waits import LINE, MOVE, WORK, Minutes, Timekeeper
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.kernel.addresses import Laid
from towerpace.engine.kernel.gather import starts
from towerpace.plan.model import NONE
from towerpace.plan.site.fronts import DELIVERY, HOISTING
from towerpace.plan.site.logistics import AT_GATE, YARD
from towerpace.plan.site.tower import CLOSING_IN, HANDOVER, Tower

Ints = NDArray[np.int64]
NO_ROWS = (HANDOVER, CLOSING_IN, "")  # milestones, which take no time
_SHORT, _MISSING = (
    "waiting for ",
    "after ",
)  # beginnings of causes: a pool, a step
CRANE_MOVE, STRIP = "crane move", "drop zone in use"
NO_ROOM, YARD_FULL, TURNED_AWAY = "no room on the floor", "yard full", "truck turned away"
BY_CLOCK = "by the clock"  # of steps without a calendar: an approval, a delay, a repair


class Ledger:
    """The ledger of one tower; what does not change from trial to trial is prepared once.

    rows : trades in the order of the scenario, then hoisting and delivery, then whatever else takes time.
    causes : names, in the order of the columns.
    """

    def __init__(self, tower: Tower) -> None:
        self.tower, plan = tower, tower.plan
        labels = [_pool_label(name) for name in plan.pools.names]
        self._keeper = Timekeeper(plan, labels)
        tags = [plan.tags(step) for step in range(plan.n)]
        others = dict.fromkeys(t.trade for t in tags)
        first = (*tower.trades, HOISTING, DELIVERY)
        self.rows = (*first, *(name for name in others if name not in (*first, *NO_ROWS)))
        self._kinds = [_seen_from_outside(t.trade, t.kind) for t in tags]
        missing = [missing_cause(kind) for kind in dict.fromkeys(self._kinds)]
        self.causes = (*self._keeper.causes, BY_CLOCK, *(c for c in missing if c not in self._keeper.causes))
        self._column = {name: k for k, name in enumerate(self.causes)}
        self._missing = np.array([self._column[missing_cause(kind)] for kind in self._kinds], dtype=np.int64)
        row, floor = {name: k for k, name in enumerate(self.rows)}, {v: k for k, v in enumerate(tower.levels)}
        booked = [row.get(t.trade, -1) for t in tags]
        # Curing before a trade is a gap of its front, not one of its steps.
        self._row = np.array([-1 if t.kind == "curing" else r for r, t in zip(booked, tags, strict=True)])
        self._floor = np.array([floor.get(t.level, 0) if t.level is not None else 0 for t in tags])
        self._crane_moves = np.flatnonzero([t.kind == CRANE_MOVE for t in tags])
        self._lifts = np.flatnonzero([t.trade != DELIVERY for t in tags])
        # Minutes of steps without a row go to one behind all others, which is thrown away.
        out = len(self.rows) * len(tower.levels)
        self._spot = np.where(self._row >= 0, self._row * len(tower.levels) + self._floor, out)
        # A step without a window runs day and night: its minutes must not pass for hours inside the shift.
        self._by_clock = np.flatnonzero(plan.window == NONE)
        self._work_cause = np.full(plan.n, self._column[WORK])
        self._work_cause[self._by_clock] = self._column[BY_CLOCK]
        self._work_cause[self._crane_moves] = self._column[MOVE]
        self._chain()
        self._prepare_gaps()

    def _chain(self) -> None:
        """For every step of a trade: the step before it on its front, or what starts the front's clock."""
        plan, n_trades = self.tower.plan, len(self.tower.trades)
        self._previous = np.full(plan.n, NEVER, dtype=np.int64)
        self._anchors: dict[int, list[int]] = {}
        last: dict[tuple[int, str, int], int] = {}
        for step in plan.order.tolist():
            row, tags = int(self._row[step]), plan.tags(step)
            if not 0 <= row < n_trades:
                continue
            spot = (row, tags.zone, int(self._floor[step]))
            if spot in last:
                self._previous[step] = last[spot]
            else:
                self._anchors[step] = self._own_level(step)
            last[spot] = step

    def _own_level(self, step: int) -> list[int]:
        """Predecessors on the step's own level, looking through curing; crates do not count."""
        plan, level = self.tower.plan, self.tower.plan.tags(step).level
        earlier = []
        for p in plan.before[step].tolist():
            tags = plan.tags(p)
            if tags.kind == "curing":
                earlier += [q for q in plan.before[p].tolist() if plan.tags(q).level == level]
            elif tags.level == level and tags.trade in (*self.tower.trades, HANDOVER, CLOSING_IN):
                earlier.append(p)
        return earlier

    def _prepare_gaps(self) -> None:
        """For every step with a clock: the step before it on its front, or those that start the front's."""
        since = [
            [before] if before != NEVER else self._anchors.get(step, [])
            for step, before in enumerate(self._previous.tolist())
        ]
        self._first_since = starts(np.array([len(steps) for steps in since], dtype=np.int64))
        self._since = np.array([step for steps in since for step in steps], dtype=np.int64)
        self._has_clock = self._previous != NEVER
        self._has_clock[list(self._anchors)] = True
        before, never = self.tower.plan.before, np.full(self.tower.plan.n, NEVER, dtype=np.int32)
        self._gaps = Laid(
            GapArrays(
                book=np.zeros((1, 1), dtype=np.int64),
                spot=self._spot,
                ready=never,
                finished=never,
                first_before=before.start,
                before=before.values,
                first_since=self._first_since,
                since=self._since,
                has_clock=self._has_clock,
                missing_cause=self._missing,
            )
        )

    def of(self, draw: Draw, diary: Diary) -> tuple[Ints, Minutes]:
        """Minutes by row, level and cause, (n_rows, n_levels, n_causes), and the minutes of every step.

        Steps that never became ready have no clock; those that never ended run to the horizon. [min]
        """
        return self.booked(draw, diary)[0], self._keeper.split(draw, diary)

    def booked(self, draw: Draw, diary: Diary) -> tuple[Ints, int, int]:
        """The book of `of` alone, and how many lifts weather caught and how many ran past their shift.

        Lifts are all that must fit into the shift by its expected minutes, but for the unloading of trucks.
        """
        n_rows, n_levels, n_causes = len(self.rows), len(self.tower.levels), len(self.causes)
        book = np.zeros((n_rows * n_levels + 1, n_causes), dtype=np.int64)
        lifts = self._keeper.add_up(draw, diary, book=book, row=self._spot, work_cause=self._work_cause)
        stamps = {"ready": diary.ready, "finished": diary.finished}
        book_gaps(self._gaps.but(stamps | {"book": book}))
        caught, past = (np.count_nonzero(x[self._lifts]) for x in (lifts.caught, lifts.past_shift))
        return book[:-1].reshape(n_rows, n_levels, n_causes), int(caught), int(past)

    def of_steps(
        self, minutes: Minutes, draw: Draw, diary: Diary, *, steps: Ints, since: Ints, begun: Ints
    ) -> tuple[Ints, Ints]:
        """Minutes of some steps by cause, (n_step_causes, k): in [since, begun), and while they were done.

        minutes : of every step of the trial, from `of`. The causes are the first of `causes`, those of steps;
        what is missing before a step comes after them.
        """
        waiting = self._keeper.before_start(draw, diary, steps=steps, since=since, start=begun)
        doing, work = minutes.doing[:, steps], self._column[WORK]
        waiting, doing = (np.pad(spent, ((0, 1), (0, 0))) for spent in (waiting, doing))  # room for BY_CLOCK
        own = self._work_cause[steps]
        worked = doing[work].copy()
        doing[work] = 0
        doing[own, np.arange(len(steps))] += worked
        return waiting, doing

    def short_of(self, minutes: Minutes) -> Ints:
        """Minutes in which any step was short of each pool first, (n_pools,); minutes from `of`."""
        waiting: Ints = minutes.waiting.sum(axis=1)
        short: Ints = waiting[[self._column[_pool_label(name)] for name in self.tower.plan.pools.names]]
        return short


def in_calendar_time(cause: str) -> bool:
    """Whether a cause runs day and night, as what keeps no calendar and waits for what comes before do.

    >>> [in_calendar_time(cause) for cause in ("by the clock", "after handover", "work")]
    [True, True, False]
    """
    return cause.startswith(_MISSING) or cause in (NO_ROOM, STRIP, LINE, BY_CLOCK)


def missing_cause(kind: str) -> str:
    """The cause of waiting for a step of a kind that comes before."""
    return f"{_MISSING}{kind}"


def awaited(cause: str) -> str | None:
    """What a cause waits for, a resource or what comes before; None for work, weather and the night.

    >>> [awaited(cause) for cause in ("waiting for hoist", "after handover", "wind")]
    ['hoist', 'handover', None]
    """
    start = next((start for start in (_SHORT, _MISSING) if cause.startswith(start)), None)
    if start is None:
        return cause if cause in (LINE, STRIP, NO_ROOM, YARD_FULL, TURNED_AWAY) else None
    return cause.removeprefix(start)


def _pool_label(name: str) -> str:
    if name.startswith("strip "):
        return STRIP
    if name.startswith("floor slots "):
        return NO_ROOM
    if name == YARD:
        return YARD_FULL
    if name.startswith(AT_GATE):
        return TURNED_AWAY
    return f"{_SHORT}{name}"


def _seen_from_outside(trade: str, kind: str) -> str:
    """What others call it when they wait for this step."""
    return trade if kind in ("work", "lift", CRANE_MOVE) else kind
