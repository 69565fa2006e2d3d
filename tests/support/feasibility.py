"""Was a diary possible? A judge that reads the plan, the draw and the diary, never an engine.

It knows what the model promises, not how a run is made: it sweeps over the stamps and counts units,
minutes and predecessors. `check` gives one sentence per violation, and none for a possible diary.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np

from towerpace import Plan, Window
from towerpace.climate.hours import Hours
from towerpace.climate.limits import HourLimit
from towerpace.draws import Draw
from towerpace.engine.diary import Diary

NEVER = -1
START, WORK, UNBROKEN = 1, 2, 3


def check(plan: Plan, draw: Draw, diary: Diary) -> list[str]:
    """Every violation found, in words."""
    judge = _Judge(plan, draw, diary)
    faults = [*judge.order_of_stamps(), *judge.predecessors_and_dates()]
    if faults:
        return faults  # a sweep over impossible stamps would only repeat them
    faults = [*judge.units(), *judge.lines()]
    return [*faults, *judge.windows(), *judge.contents()]


class OpenTime:
    """Open minutes of a window: its shifts, less its stops, less the hours that break a limit."""

    def __init__(self, window: Window, *, hours: Hours | None, horizon: int) -> None:
        shifts = _spans(window.shifts)
        self.shifts = shifts[shifts[:, 0] < horizon]
        closed = np.concatenate(
            [_spans(window.stops), *(_bad_hours(limit, hours) for limit in window.limits)]
        )
        edges = np.concatenate((self.shifts.reshape(-1), closed.reshape(-1)))
        self.edges = np.unique(np.concatenate(([0], edges[edges < horizon], [horizon])))
        middles = self.edges[:-1]
        self.open = (_cover(self.shifts, middles) > 0) & (_cover(closed, middles) == 0)
        self.before = np.concatenate(([0], np.cumsum(np.diff(self.edges) * self.open)))
        begins = self.open & ~np.concatenate(([False], self.open[:-1]))
        ends = self.open & np.concatenate((~self.open[1:], [True]))
        self.pieces = list(zip(self.edges[:-1][begins].tolist(), self.edges[1:][ends].tolist(), strict=True))

    def is_open(self, minute: int) -> bool:
        k = int(np.searchsorted(self.edges, minute, side="right")) - 1
        return k < len(self.open) and bool(self.open[k])

    def between(self, start: int, end: int) -> int:
        """Open minutes in [start, end)."""
        a, b = np.interp([start, end], self.edges, self.before)
        return round(float(b - a))

    def end_in_one_piece(self, start: int, minutes: int) -> int | None:
        """First end of so many open minutes in a row; shifts that touch have no closed minute between."""
        ends = (max(start, a) + minutes for a, b in self.pieces if max(start, a) + minutes <= b and b > start)
        return next(ends, None) if minutes else start

    def shift_end(self, minute: int) -> int:
        k = int(np.searchsorted(self.shifts[:, 0], minute, side="right")) - 1
        return int(self.shifts[k, 1])


def _spans(spans: object) -> np.ndarray:
    return np.asarray(spans, dtype=np.int64).reshape(-1, 2)


def _cover(spans: np.ndarray, minutes: np.ndarray) -> np.ndarray:
    """How many spans each minute lies in."""
    begun = np.searchsorted(np.sort(spans[:, 0]), minutes, side="right")
    ended = np.searchsorted(np.sort(spans[:, 1]), minutes, side="right")
    return begun - ended


def _bad_hours(limit: HourLimit, hours: Hours | None) -> np.ndarray:
    """[from, to) of every hour that breaks a limit, each with its wait."""
    if hours is None:
        raise ValueError(f"limit '{limit.name}' needs the hours of a draw")
    values = hours.values(limit.variable) * limit.ratio
    too_low = np.zeros(len(values), dtype=np.bool_) if limit.below is None else values < limit.below
    bad = too_low if limit.above is None else values > limit.above
    first = np.flatnonzero(bad) * 60
    return np.stack((first, first + 60 + limit.restart_min), axis=1)


class _Judge:
    def __init__(self, plan: Plan, draw: Draw, diary: Diary) -> None:
        self.plan, self.draw = plan, draw
        self.ready, self.started, self.finished = (
            np.asarray(a, dtype=np.int64).tolist() for a in (diary.ready, diary.started, diary.finished)
        )
        self.skip = draw.skip.tolist()
        self.before = plan.before.lists
        self.needs = [
            list(zip(p, q, strict=True)) for p, q in zip(plan.needs.lists, plan.quantities.lists, strict=True)
        ]
        self.move = [0] * plan.n

    def order_of_stamps(self) -> Iterator[str]:
        for i, name in enumerate(self.plan.names):
            ready, started, finished = self.ready[i], self.started[i], self.finished[i]
            if started != NEVER and not NEVER < ready <= started:
                yield f"'{name}': started at {started}, ready at {ready}"
            if finished != NEVER and not NEVER < started <= finished:
                yield f"'{name}': ended at {finished}, started at {started}"
            if self.skip[i] and not ready == started == finished:
                yield f"'{name}': skipped, so it must pass at once, got {ready}, {started}, {finished}"

    def predecessors_and_dates(self) -> Iterator[str]:
        for i, name in enumerate(self.plan.names):
            ends = [self.finished[p] for p in self.before[i]]
            late = [self.plan.names[p] for p in self.before[i] if self.finished[p] == NEVER]
            if late and self.ready[i] != NEVER:
                yield f"'{name}': ready at {self.ready[i]}, but '{late[0]}' never ended"
            if late:
                continue
            due = max(ends, default=0)
            if not self.skip[i]:
                due = max(due, int(self.draw.date[i]))
            if self.ready[i] != due and not (self.ready[i] == NEVER and due > self.plan.horizon):
                yield f"'{name}': ready at {self.ready[i]}, but its predecessors and date say {due}"

    def units(self) -> Iterator[str]:
        """Replay takes and gives, instant by instant."""
        yield from _Units(self).play()

    def lines(self) -> Iterator[str]:
        """Nobody who stood behind another in a line starts while that one goes on waiting."""
        for line, word in enumerate(self.plan.pools.lines):
            members = [i for i in range(self.plan.n) if self._stands_in(i, line)]
            for i in members:
                for j in members:
                    waited = self.ready[j] < self.started[i] and self.ready[j] != NEVER
                    passed = self.started[j] == NEVER or self.started[j] > self.started[i]
                    if waited and passed and self.key(j) < self.key(i) and self.started[i] != NEVER:
                        a, b = self.plan.names[i], self.plan.names[j]
                        yield f"'{a}': started at {self.started[i]} past '{b}', ahead of it in line '{word}'"

    def _stands_in(self, i: int, line: int) -> bool:
        return not self.skip[i] and any(self.plan.pools.line[p] == line for p, _ in self.needs[i])

    def key(self, i: int) -> tuple[int, int, int, int]:
        """Steps that need nothing come first; then ready minute if first come, rank, number."""
        first_come = any(self.plan.pools.first_come[p] for p, _ in self.needs[i])
        return int(bool(self.needs[i])), self.ready[i] if first_come else 0, int(self.plan.rank[i]), i

    def windows(self) -> Iterator[str]:
        for i, opening in self._under_windows():
            name, started = self.plan.names[i], self.started[i]
            if not opening.is_open(started):
                yield f"'{name}': started at {started}, window closed"
            elif self.plan.mode[i] == START:
                left = opening.shift_end(started) - started
                if self.plan.expected[i] > left:
                    yield f"'{name}': started at {started} with {left} min of the shift left"

    def _under_windows(self) -> Iterator[tuple[int, OpenTime]]:
        made: dict[int, OpenTime] = {}
        for i in range(self.plan.n):
            k = int(self.plan.window[i])
            if k == NEVER or self.skip[i] or self.started[i] == NEVER:
                continue
            if k not in made:
                window = self.plan.windows[k]
                made[k] = OpenTime(window, hours=self.draw.hours, horizon=self.plan.horizon)
            yield i, made[k]

    def contents(self) -> Iterator[str]:
        """Minutes between start and end are the drawn work and the move, as the mode counts them."""
        opening = dict(self._under_windows())
        for i, name in enumerate(self.plan.names):
            if self.started[i] == NEVER or self.skip[i]:
                continue
            due = int(self.draw.work[i]) + self.move[i]
            if self.plan.mode[i] == UNBROKEN:
                yield from self._unbroken(i, opening[i], due)
            else:
                yield from self._counted(i, opening[i] if self.plan.mode[i] == WORK else None, due)
            if self.finished[i] > self.plan.horizon:
                yield f"'{name}': ended at {self.finished[i]}, beyond the horizon"

    def _unbroken(self, i: int, opening: OpenTime, due: int) -> Iterator[str]:
        end = opening.end_in_one_piece(self.started[i], due)
        if self.finished[i] != (NEVER if end is None else end):
            yield f"'{self.plan.names[i]}': ended at {self.finished[i]}, {due} min in one piece end at {end}"

    def _counted(self, i: int, opening: OpenTime | None, due: int) -> Iterator[str]:
        """Elapsed minutes, or open ones where there is an opening to pause by."""
        name, started, end = self.plan.names[i], self.started[i], self.finished[i]
        until = self.plan.horizon if end == NEVER else end
        spent = until - started if opening is None else opening.between(started, until)
        if end == NEVER and spent >= due:
            yield f"'{name}': did {spent} of {due} min by the horizon and has not ended"
        if end != NEVER and spent != due:
            yield f"'{name}': {spent} min between start and end, its work and move are {due}"
        if end != NEVER and due and opening is not None and not opening.is_open(end - 1):
            yield f"'{name}': ended at {end} while its window was closed"


class _Units:
    """Units of every pool from instant to instant, and where positioned units stand."""

    def __init__(self, judge: _Judge) -> None:
        self.judge, self.plan = judge, judge.plan
        self.free = self.plan.pools.units.tolist()
        self.all = list(self.free)
        self.held: Counter[tuple[int, int]] = Counter()
        self.at = [list(at) for at in self.plan.pools.at]
        self.idle = [set(range(len(at))) for at in self.plan.pools.at]
        self.sent: dict[int, int] = {}

    def play(self) -> Iterator[str]:
        starts, ends = self._by_minute()
        for minute in sorted(starts.keys() | ends.keys()):
            for i in ends.get(minute, ()):
                yield from self._give(i)
            yield from self._starts_of(minute, starts.get(minute, []))

    def _by_minute(self) -> tuple[dict[int, list[int]], dict[int, list[int]]]:
        starts: dict[int, list[int]] = {}
        ends: dict[int, list[int]] = {}
        for i, skipped in enumerate(self.judge.skip):
            started, ended = self.judge.started[i], self.judge.finished[i]
            if not skipped and started != NEVER:
                starts.setdefault(started, []).append(i)
                if ended > started:
                    ends.setdefault(ended, []).append(i)
        return starts, ends

    def _starts_of(self, minute: int, starters: list[int]) -> Iterator[str]:
        """Take in the order of the keys among those that can, so far as an order exists at all."""
        waiting = sorted(starters, key=self.judge.key)
        while waiting:
            free_to_go = [i for i in waiting if not any(p in waiting for p in self.judge.before[i])]
            i = next((i for i in free_to_go if self._short_of(i) is None), None)
            if i is None:
                i = free_to_go[0]
                yield f"'{self.plan.names[i]}': started at {minute} with {self._shortage(i)}"
            waiting.remove(i)
            self._take(i)
            if self.judge.finished[i] == minute:
                yield from self._give(i)

    def _short_of(self, i: int) -> int | None:
        return next((p for p, q in self.judge.needs[i] if self.free[p] < q), None)

    def _shortage(self, i: int) -> str:
        pool = next(p for p, q in self.judge.needs[i] if self.free[p] < q)
        return f"{self.free[pool]} of pool '{self.plan.pools.names[pool]}' free, too few"

    def _take(self, i: int) -> None:
        for pool, quantity in self.judge.needs[i]:
            self.free[pool] -= quantity
            self.held[i, pool] += quantity
            moves = self.plan.pools.moves[pool]
            if moves is not None and self.idle[pool]:
                place, at = int(self.plan.place[i]), self.at[pool]
                ways = [(0 if place == NEVER else int(moves[at[u], place]), u) for u in self.idle[pool]]
                self.judge.move[i], self.sent[i] = min(ways)
                self.idle[pool].remove(self.sent[i])

    def _give(self, i: int) -> Iterator[str]:
        lists = (self.plan.give_pool[i], self.plan.give_quantity[i], self.plan.give_taker[i])
        for pool, quantity, taker in zip(*map(list, lists), strict=True):
            self.free[pool] += quantity
            if taker == NEVER:
                self.all[pool] += quantity
                continue
            self.held[taker, pool] -= quantity
            if self.held[taker, pool] < 0 or self.free[pool] > self.all[pool]:
                word = self.plan.pools.names[pool]
                yield f"'{self.plan.names[i]}': gives back more of pool '{word}' than was taken"
            if self.plan.pools.moves[pool] is not None and taker in self.sent:
                unit = self.sent.pop(taker)
                self.idle[pool].add(unit)
                places = [int(self.plan.place[j]) for j in (taker, i) if self.plan.place[j] != NEVER]
                self.at[pool][unit] = [self.at[pool][unit], *places][-1]
