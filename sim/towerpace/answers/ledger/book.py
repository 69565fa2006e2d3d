"""Where the time of every front went, by trade, level and cause.

The clock of a trade on a front runs from the end of what comes before it on its own level (handover, the
earlier trade, closing-in) to its last step's end. Its own steps bring their minutes from `waits`; the gaps
before and between them belong to what was still missing: crates, curing, other levels, other trades.
Hoisting and delivery have no front of their own: their clocks run from ready to finished, step by step.
All causes of a row add up exactly to the minutes its clocks ran.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from towerpace.answers.ledger.arrays import SplitArrays
from towerpace.answers.ledger.gaps import GapArrays, book_gaps
from towerpace.answers.ledger.past import NOT_STARTED, keeper_of
from towerpace.answers.ledger.waits import LINE, MOVE, WORK, Minutes, causes_of_steps
from towerpace.compiling.addresses import Laid
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.kernel.arrays import Numbers
from towerpace.engine.kernel.gather import starts
from towerpace.plan.model import NONE
from towerpace.plan.parts import PoolKind, Tags
from towerpace.plan.site.fronts import CURING, DELIVERY, HOISTING
from towerpace.plan.site.lifting import CRANE_MOVE, LIFT
from towerpace.plan.site.tower import CLOSING_IN, HANDOVER, Tower
from towerpace.units import Flags, Ints

NO_ROWS = (HANDOVER, CLOSING_IN, "")  # milestones, which take no time
_SHORT, _MISSING = (
    "waiting for ",
    "after ",
)  # beginnings of causes: a pool, a step
STRIP = "drop zone in use"
NO_ROOM, YARD_FULL, TURNED_AWAY = "no room on the floor", "yard full", "truck turned away"
_SHORT_OF: dict[PoolKind, str] = {
    "strip": STRIP,
    "floor slots": NO_ROOM,
    "yard slots": YARD_FULL,
    "place at the gate": TURNED_AWAY,
}
BY_CLOCK = "by the clock"  # of steps without a calendar: an approval, a delay, a repair


class LedgerNames:
    """What a ledger of one tower calls its rows and causes.

    rows : trades in the order of the scenario, then hoisting and delivery, then whatever else takes time.
    causes : names, in the order of the columns. labels : what being short of each pool is called.
    seen : whether trials go on from what a site has shown; then the tower has the plan from before that.
    """

    def __init__(self, tower: Tower, *, seen: bool = False) -> None:
        self.tower, plan = tower, tower.plan
        pools = zip(plan.pools.names, plan.pools.kinds, strict=True)
        self.labels = [_SHORT_OF.get(kind, f"{_SHORT}{name}") for name, kind in pools]
        first = (*tower.trades, HOISTING, DELIVERY)
        others = dict.fromkeys(t.trade for t in plan.tags_used)
        self.rows = (*first, *(name for name in others if name not in (*first, *NO_ROWS)))
        missing = map(_missing_before, plan.tags_used)
        own = (*causes_of_steps(self.labels), *((NOT_STARTED,) if seen else ()))
        self.causes = tuple(dict.fromkeys((*own, BY_CLOCK, *missing)))


class LedgerParts(NamedTuple):
    """What the ledger hands its entries, for those who call them otherwise (`block`).

    split, gaps : of the minutes of steps, and of the gaps before them.
    spot, work_cause : (n,) row of the book of each step, and cause of the minutes in which it is worked at.
    is_lift : (n,) whether it may be a lift: all but the unloading of trucks.
    """

    split: SplitArrays
    gaps: GapArrays
    spot: Numbers
    work_cause: Numbers
    is_lift: Flags


class Ledger(LedgerNames):
    """The ledger of one tower; what does not change from trial to trial is prepared once."""

    def __init__(self, tower: Tower, *, seen: bool = False) -> None:
        super().__init__(tower, seen=seen)
        plan = tower.plan
        self._keeper = keeper_of(plan, tuple(self.labels), seen=seen)
        self._column = {name: k for k, name in enumerate(self.causes)}
        self._missing = plan.by_tags(lambda t: self._column[_missing_before(t)])
        row, floor = {name: k for k, name in enumerate(self.rows)}, {v: k for k, v in enumerate(tower.levels)}
        # Curing before a trade is a gap of its front, not one of its steps.
        self._row = plan.by_tags(lambda t: -1 if t.kind == CURING else row.get(t.trade, -1))
        self._floor = plan.by_tags(lambda t: 0 if t.level is None else floor.get(t.level, 0))
        self._crane_moves = np.flatnonzero(plan.by_tags(lambda t: t.kind == CRANE_MOVE))
        self._is_lift = plan.by_tags(lambda t: t.trade != DELIVERY).astype(np.bool_)
        # Minutes of steps without a row go to one behind all others, which is thrown away.
        out = len(self.rows) * len(tower.levels)
        spot = np.where(self._row >= 0, self._row * len(tower.levels) + self._floor, out)
        self._spot = spot.astype(np.int32)
        # A step without a window runs day and night: its minutes must not pass for hours inside the shift.
        self._by_clock = np.flatnonzero(plan.window == NONE)
        self._work_cause = np.full(plan.n, self._column[WORK], dtype=np.int32)
        self._work_cause[self._by_clock] = self._column[BY_CLOCK]
        self._work_cause[self._crane_moves] = self._column[MOVE]
        self._chain()
        self._prepare_gaps()

    def _chain(self) -> None:
        """For every step of a trade: the step before it on its front, or what starts the front's clock."""
        tower, plan = self.tower, self.tower.plan
        zone = {name: k for k, name in enumerate(dict.fromkeys(t.zone for t in plan.tag_table))}
        spot = self._spot.astype(np.int64) * len(zone) + plan.by_tags(lambda t: zone[t.zone])
        steps = plan.order[(self._row[plan.order] >= 0) & (self._row[plan.order] < len(tower.trades))]
        steps = steps[np.argsort(spot[steps], kind="stable")]
        follows = np.zeros(len(steps), dtype=np.bool_)
        follows[1:] = spot[steps[1:]] == spot[steps[:-1]]
        self._previous = np.full(plan.n, NEVER, dtype=np.int64)
        self._previous[steps[follows]] = steps[:-1][follows[1:]]
        self._anchors = {step: self._own_level(step) for step in steps[~follows].tolist()}

    def _own_level(self, step: int) -> list[int]:
        """Predecessors on the step's own level, looking through curing; crates do not count."""
        plan, level = self.tower.plan, self.tower.plan.tags(step).level
        earlier = []
        for p in plan.before[step].tolist():
            tags = plan.tags(p)
            if tags.kind == CURING:
                earlier += [q for q in plan.before[p].tolist() if plan.tags(q).level == level]
            elif tags.level == level and tags.trade in (*self.tower.trades, HANDOVER, CLOSING_IN):
                earlier.append(p)
        return earlier

    def _prepare_gaps(self) -> None:
        """For every step with a clock: the step before it on its front, or those that start the front's."""
        clocks = np.union1d(np.flatnonzero(self._previous != NEVER), list(self._anchors)).astype(np.int32)
        since = [self._anchors.get(step, [int(self._previous[step])]) for step in clocks.tolist()]
        first_since = starts(np.array([len(steps) for steps in since], dtype=np.int64))
        before, never = self.tower.plan.before, np.full(self.tower.plan.n, NEVER, dtype=np.int32)
        self._gaps = Laid(
            GapArrays(
                book=np.zeros((1, 1), dtype=np.int64),
                clocks=clocks,
                spot=self._spot,
                ready=never,
                finished=never,
                first_before=before.start.astype(np.int32),
                before=before.values.astype(np.int32),
                first_since=first_since.astype(np.int32),
                since=np.array([step for steps in since for step in steps], dtype=np.int32),
                missing_cause=self._missing.astype(np.int32),
                number=np.arange(self.tower.plan.n, dtype=np.int32),
            )
        )

    @property
    def parts(self) -> LedgerParts:
        """What it hands its entries."""
        own = (self._spot, self._work_cause, self._is_lift)
        return LedgerParts(self._keeper.laid.arrays, self._gaps.arrays, *own)

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
        caught, past = (np.count_nonzero(x & self._is_lift) for x in (lifts.caught, lifts.past_shift))
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
        short: Ints = waiting[[self._column[label] for label in self.labels]]
        return short

    def short_by_step(self, minutes: Minutes, pool: int) -> Ints:
        """Minutes in which each step was short of a pool first, (n,); minutes from `of`."""
        short: Ints = minutes.waiting[self._column[self.labels[pool]]]
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


def _missing_before(tags: Tags) -> str:
    """The cause of waiting for a step with these tags, by what others call it."""
    return missing_cause(tags.trade if tags.kind in ("work", LIFT, CRANE_MOVE) else tags.kind)
