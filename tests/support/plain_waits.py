"""A second opinion on `answers.ledger.waits`: the same split from lists of open spans, with numpy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.ledger.waits import (
    AGAIN,
    LATE,
    LINE,
    MOVE,
    SHIFT,
    WEATHER,
    WORK,
    Minutes,
    open_before,
)
from towerpace.climate.limits import stop_spans, stopped
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.openings import Opening, Openings, both, without
from towerpace.plan import lists as modes
from towerpace.plan.model import NONE, Plan

Ints = NDArray[np.int64]


class PlainTimekeeper:
    """Splits the minutes of one plan's steps; what does not change from trial to trial is prepared once.

    labels : what being short of each pool is called, one per pool.
    """

    def __init__(self, plan: Plan, labels: Sequence[str]) -> None:
        self.plan = plan
        self.causes = tuple(dict.fromkeys((WORK, MOVE, AGAIN, SHIFT, *WEATHER, LATE, LINE, *labels)))
        self._cause = {name: k for k, name in enumerate(self.causes)}
        self._label = np.array([self._cause[label] for label in labels], dtype=np.int64)
        self._of_window = [np.flatnonzero(plan.window == k) for k in range(len(plan.windows))]
        self._no_window = np.flatnonzero(plan.window == NONE)
        n_needs = np.diff(plan.needs.start)
        first = plan.needs.start[:-1][n_needs > 0]
        self._first_pool = np.full(plan.n, NONE, dtype=np.int64)
        self._first_pool[n_needs > 0] = plan.needs.values[first]
        in_line = plan.line != NONE
        self._tangled = (n_needs > 1) | in_line
        self._uses = _uses(plan, set(plan.needs.values[np.repeat(self._tangled, n_needs)].tolist()))

    def split(self, draw: Draw, openings: Openings, diary: Diary) -> Minutes:
        """Minutes of one trial."""
        stamps = (diary.ready, diary.started, diary.finished)
        ready, started, finished = (x.astype(np.int64) for x in stamps)
        horizon = self.plan.horizon
        came = ready != NEVER
        begun = np.where(came & (started == NEVER), horizon, started)
        ended = np.where(came & (finished == NEVER), horizon, finished)
        waiting = np.zeros((len(self.causes), self.plan.n), dtype=np.int64)
        doing = np.zeros_like(waiting)
        caught, past = np.zeros((2, self.plan.n), dtype=np.bool_)
        rest = begun - ready
        for number, steps in enumerate(self._of_window):
            if steps.size:
                opening = openings[number]
                rest[steps] = self._closed(waiting, opening, steps, ready[steps], begun[steps])
                rest[steps] -= self._too_late(waiting, opening, steps, ready[steps], begun[steps])
                caught[steps] = self._under_way(doing, opening, steps, begun[steps], ended[steps])
                caught[steps] |= self._in_bad_hours(draw, number, steps, begun[steps], ended[steps])
                past[steps] = self._past_shift(opening, steps, begun[steps], ended[steps])
        doing[self._cause[WORK], self._no_window] = (ended - begun)[self._no_window]
        self._part_moves(doing, draw, ended=finished)
        tangled = self._blame_single(waiting, rest)
        levels = {pool: use.level(diary, draw) for pool, use in self._uses.items()} if tangled else {}
        for step in tangled:
            self._untangle(waiting, step, openings=openings, diary=diary, begun=begun, levels=levels)
        return Minutes(self.causes, waiting, doing, ready, np.where(came, ended, NEVER), caught, past)

    def before_start(self, openings: Openings, *, steps: Ints, since: Ints, begun: Ints) -> Ints:
        """Minutes of [since, begun) of some steps by cause, (n_causes, k), for steps short of no pool then.

        steps, since, begun : (k,), each step once. What neither window nor shift explains was a line. [min]
        """
        full = np.zeros((len(self.causes), self.plan.n), dtype=np.int64)
        rest = begun - since
        windows = self.plan.window[steps]
        for number in np.unique(windows[windows != NONE]).tolist():
            at = np.flatnonzero(windows == number)
            a, b = since[at], begun[at]
            rest[at] = self._closed(full, openings[number], steps[at], a, b)
            rest[at] -= self._too_late(full, openings[number], steps[at], a, b)
        minutes = full[:, steps]
        minutes[self._cause[LINE]] += rest
        return minutes

    def _closed(self, into: Ints, opening: Opening, steps: Ints, a: Ints, b: Ints) -> Ints:
        """Book the closed minutes of [a, b) layer by layer; returns the open ones."""
        left = b - a
        for cause, spans in zip((SHIFT, *opening.causes), opening.layers, strict=True):
            still = open_before(spans, b) - open_before(spans, a)
            into[self._cause[cause], steps] += left - still
            left = still
        return left

    def _too_late(self, into: Ints, opening: Opening, steps: Ints, a: Ints, b: Ints) -> Ints:
        """Book the open minutes of [a, b) in which too little of the shift was left; returns them."""
        late = np.zeros(len(steps), dtype=np.int64)
        fits = (self.plan.mode[steps] == modes.START) & (b > a)
        if not fits.any() or not len(opening.spans):
            return late
        spans, shift_end = opening.spans, opening.shift_end
        first = np.searchsorted(spans[:, 1], a[fits], side="right")
        last = np.searchsorted(spans[:, 0], b[fits], side="left")
        counts = np.maximum(last - first, 0)
        step = np.repeat(np.flatnonzero(fits), counts)
        span = np.arange(counts.sum()) + np.repeat(first - np.cumsum(counts) + counts, counts)
        last_start = shift_end[span] - self.plan.expected[steps[step]]
        begin = np.maximum(np.maximum(spans[span, 0], a[step]), last_start + 1)
        minutes = np.maximum(np.minimum(spans[span, 1], b[step]) - begin, 0)
        np.add.at(late, step, minutes)
        into[self._cause[LATE], steps] += late
        return late

    def _under_way(self, doing: Ints, opening: Opening, steps: Ints, b: Ints, c: Ints) -> NDArray[np.bool_]:
        """Book the minutes of [b, c); returns which steps in mode "start" ran into closed weather."""
        pauses = np.isin(self.plan.mode[steps], (modes.WORK, modes.UNBROKEN))
        s, first, last = steps[pauses], b[pauses], c[pauses]
        doing[self._cause[WORK], s] = self._closed(doing, opening, s, first, last)
        doing[self._cause[WORK], steps[~pauses]] = (c - b)[~pauses]
        if len(opening.layers) == 1:
            return np.zeros(len(steps), dtype=np.bool_)
        shift, spans = opening.layers[0], opening.spans
        lost = (open_before(shift, c) - open_before(shift, b)) - (
            open_before(spans, c) - open_before(spans, b)
        )
        met: NDArray[np.bool_] = ~pauses & (lost > 0)
        return met

    def _in_bad_hours(self, draw: Draw, number: int, steps: Ints, b: Ints, c: Ints) -> NDArray[np.bool_]:
        """Which steps in mode "start" were under way in a minute that a limit stops, in the shift or not."""
        met = np.zeros(len(steps), dtype=np.bool_)
        for limit in self.plan.windows[number].limits:
            bad = stop_spans(stopped(draw.hours, limit), limit.restart_min)
            met |= open_before(bad, c) > open_before(bad, b)
        return met & (self.plan.mode[steps] == modes.START)

    def _past_shift(self, opening: Opening, steps: Ints, b: Ints, c: Ints) -> NDArray[np.bool_]:
        """Which steps in mode "start" ended after the shift in which they started."""
        if not len(opening.shifts):
            return np.zeros(len(steps), dtype=np.bool_)
        shift = opening.shifts[np.searchsorted(opening.shifts[:, 0], b, side="right") - 1]
        past: NDArray[np.bool_] = (shift[:, 0] <= b) & (b < shift[:, 1]) & (shift[:, 1] < c)
        return past & (self.plan.mode[steps] == modes.START)

    def _part_moves(self, doing: Ints, draw: Draw, *, ended: Ints) -> None:
        """What a step took beyond its work: the way of its positioned unit, or work lost and begun again."""
        work = doing[self._cause[WORK]]
        beyond = np.where((ended != NEVER) & ~draw.skip, work - draw.work, 0)
        lost = np.where(self.plan.mode == modes.UNBROKEN, beyond, 0)
        doing[self._cause[AGAIN]] += lost
        doing[self._cause[MOVE]] += beyond - lost
        work -= beyond

    def _blame_single(self, waiting: Ints, rest: Ints) -> list[int]:
        """Book the minutes in which window and shift would have let a step start that needs one pool.

        Returns the steps that need several pools or stand in a line.
        """
        plain = np.flatnonzero((rest > 0) & ~self._tangled)
        waiting[self._label[self._first_pool[plain]], plain] += rest[plain]
        return np.flatnonzero((rest > 0) & self._tangled).tolist()

    def _untangle(
        self,
        waiting: Ints,
        step: int,
        *,
        openings: Openings,
        diary: Diary,
        begun: Ints,
        levels: dict[int, tuple[Ints, Ints]],
    ) -> None:
        """One step that needs several pools or stands in a line: who held it, minute by minute."""
        spans = np.array([[int(diary.ready[step]), int(begun[step])]], dtype=np.int64)
        number = int(self.plan.window[step])
        if number != NONE:
            spans = both(spans, openings[number].spans)
            if self.plan.mode[step] == modes.START:
                spans = self._in_time(spans, openings[number], int(self.plan.expected[step]))
        line = self.plan.lists.line[step]
        if line != NONE:
            ahead = self._ahead(step, line, diary=diary, begun=begun)
            waiting[self._cause[LINE], step] += _length(both(spans, ahead))
            spans = without(spans, ahead)
        for pool, quantity in self.plan.lists.needs[step]:
            short = both(spans, _below(levels[pool], quantity, spans))
            waiting[self._label[pool], step] += _length(short)
            spans = without(spans, short)

    @staticmethod
    def _in_time(spans: Ints, opening: Opening, expected: int) -> Ints:
        """The parts of open spans from which the step would still fit into the shift."""
        k = np.searchsorted(opening.spans[:, 0], spans[:, 0], side="right") - 1
        end = np.minimum(spans[:, 1], opening.shift_end[k] - expected + 1)
        return np.stack((spans[:, 0], end), axis=1)[end > spans[:, 0]]

    def _ahead(self, step: int, line: int, *, diary: Diary, begun: Ints) -> Ints:
        """Minutes in which somebody with a smaller key stood in the same line."""
        lists = self.plan.lists

        def key(i: int) -> tuple[int, int, int]:
            return (int(diary.ready[i]) if lists.first_come[i] else 0, lists.rank[i], i)

        others = [i for i, other in enumerate(lists.line) if other == line and diary.ready[i] != NEVER]
        ahead = [i for i in others if key(i) < key(step) and begun[i] > diary.ready[i]]
        return _union(np.array([[int(diary.ready[i]), int(begun[i])] for i in ahead], dtype=np.int64))


@dataclass(frozen=True)
class _Use:
    """Who takes from a pool and who gives to it."""

    units: int
    takers: Ints
    taken: Ints
    givers: Ints
    given: Ints

    def level(self, diary: Diary, draw: Draw) -> tuple[Ints, Ints]:
        """Minutes at which the free units change, the first before the start, and how many are free then."""
        minutes = np.concatenate((diary.started[self.takers], diary.finished[self.givers])).astype(np.int64)
        change = np.concatenate((-self.taken, self.given))
        steps = np.concatenate((self.takers, self.givers))
        known = (minutes != NEVER) & ~draw.skip[steps]
        order = np.argsort(minutes[known], kind="stable")
        free = np.concatenate(([self.units], self.units + np.cumsum(change[known][order])))
        return np.concatenate(([NEVER], minutes[known][order])), free


def _uses(plan: Plan, pools: set[int]) -> dict[int, _Use]:
    takers = plan.needs.owners
    givers = plan.give_pool.owners
    uses = {}
    for pool in pools:
        takes, gives = plan.needs.values == pool, plan.give_pool.values == pool
        uses[pool] = _Use(
            units=int(plan.pools.units[pool]),
            takers=takers[takes],
            taken=plan.quantities.values[takes],
            givers=givers[gives],
            given=plan.give_quantity.values[gives],
        )
    return uses


def _below(level: tuple[Ints, Ints], quantity: int, spans: Ints) -> Ints:
    """Spans in which fewer than `quantity` units are free, within the reach of `spans`."""
    if not len(spans):
        return spans
    minutes, free = level
    low, high = int(spans[0, 0]), int(spans[-1, 1])
    inside = minutes[(minutes > low) & (minutes < high)]
    edges = np.unique(np.concatenate(([low], inside, [high])))
    at = np.searchsorted(minutes, edges[:-1], side="right") - 1
    short = free[at] < quantity
    return np.stack((edges[:-1][short], edges[1:][short]), axis=1)


def _length(spans: Ints) -> int:
    return int((spans[:, 1] - spans[:, 0]).sum())


def _union(spans: Ints) -> Ints:
    """The same minutes as ascending spans apart from each other."""
    if not len(spans):
        return spans.reshape(-1, 2)
    spans = spans[np.argsort(spans[:, 0], kind="stable")]
    reach = np.maximum.accumulate(spans[:, 1])
    new = np.append(True, spans[1:, 0] > reach[:-1])
    return np.stack((spans[new, 0], reach[np.append(new[1:], True)]), axis=1)
