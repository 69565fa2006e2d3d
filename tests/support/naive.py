"""A second engine that shares no code with the first: it looks at every step at every minute.

It knows the instant rule only, nothing of watching or of SimPy, and judges when every step was ready,
started and finished. For small plans: its cost is minutes times steps.
"""

from __future__ import annotations

import numpy as np

from towerpace import Plan
from towerpace.draws import Draw

NEVER = -1


class _Window:
    def __init__(self, window, *, horizon):
        self.open = np.zeros(horizon + 1, dtype=bool)
        self.shift_end = np.zeros(horizon + 1, dtype=int)
        for a, b in np.asarray(window.shifts).reshape(-1, 2).tolist():
            self.open[a : min(b, horizon)] = True
            self.shift_end[a : min(b, horizon)] = b
        for a, b in np.asarray(window.stops).reshape(-1, 2).tolist():
            self.open[a:b] = False


def run_naively(plan: Plan, draw: Draw):
    """Stamps (ready, started, finished), each (n,) int32, -1 where it never came."""
    return _Naive(plan, draw).play()


class _Naive:
    def __init__(self, plan, draw):
        self.plan, self.draw = plan, draw
        n = plan.n
        self.windows = [_Window(w, horizon=plan.horizon) for w in plan.windows]
        self.ready, self.started, self.finished = ([NEVER] * n for _ in range(3))
        self.ends = [None] * n
        self.free = plan.pools.units.tolist()
        self.at = [list(a) for a in plan.pools.at]
        self.away = [set() for _ in plan.pools.at]
        self.unit = {}
        self.pins = draw.pins
        self.began = [NEVER] * n if draw.pins is None else draw.pins.began.tolist()

    def play(self):
        for t in range(self.plan.horizon + 1):
            self.settle(t)
            while (i := self.first_that_can_start(t)) is not None:
                if self.start(i, t):
                    self.settle(t)
        return tuple(np.array(x, dtype=np.int32) for x in (self.ready, self.started, self.finished))

    def settle(self, t):
        """Endings, dates and openings of this minute, until nothing moves."""
        moved = True
        while moved:
            moved = False
            for i in range(self.plan.n):
                moved |= self.settle_one(i, t)

    def settle_one(self, i, t):
        """Let one step do what this minute allows; True if it did anything."""
        if self.finished[i] != NEVER:
            return False
        if self.started[i] != NEVER:
            return self.ends[i] == t and self.end(i, t)
        if self.ready[i] == NEVER:
            return self.become_ready(i, t)
        if self.plan.needs[i].size == 0 and (
            self.began[i] <= t if self.began[i] != NEVER else self.window_allows(i, t)
        ):
            self.start(i, t)
            return True
        return False

    def become_ready(self, i, t):
        if any(self.finished[p] == NEVER for p in self.plan.before[i].tolist()):
            return False
        if self.draw.skip[i]:
            self.ready[i] = self.started[i] = self.finished[i] = t
            return True
        if self.draw.date[i] > t and (self.began[i] == NEVER or self.began[i] > t):
            return False
        self.ready[i] = t
        return True

    def first_that_can_start(self, t):
        waiting = sorted(
            (self.key(i), i)
            for i in range(self.plan.n)
            if self.ready[i] != NEVER and self.started[i] == NEVER and self.plan.needs[i].size
        )
        heads = {}
        for _, i in waiting:
            for line in self.lines(i) if self.began[i] == NEVER else ():
                heads.setdefault(line, i)
        for _, i in waiting:
            if self.began[i] != NEVER:
                if self.began[i] <= t:
                    return i
                continue
            at_head = all(heads[line] == i for line in self.lines(i))
            if at_head and self.enough(i) and self.window_allows(i, t):
                return i
        return None

    def key(self, i):
        first_come = any(self.plan.pools.first_come[p] for p in self.plan.needs[i])
        return (self.ready[i] if first_come else 0, int(self.plan.rank[i]), i)

    def lines(self, i):
        return {int(self.plan.pools.line[p]) for p in self.plan.needs[i]} - {-1}

    def enough(self, i):
        return all(
            self.free[p] >= q for p, q in zip(self.plan.needs[i], self.plan.quantities[i], strict=True)
        )

    def window_allows(self, i, t):
        number = self.plan.window[i]
        if number < 0:
            return True
        window = self.windows[number]
        if not window.open[t]:
            return False
        return self.plan.mode[i] != 1 or t + self.plan.expected[i] <= window.shift_end[t]

    def start(self, i, t):
        """Start step i; True if it lasts no time and has ended."""
        self.started[i] = t
        minutes = int(self.draw.work[i])
        for p, q in zip(self.plan.needs[i].tolist(), self.plan.quantities[i].tolist(), strict=True):
            self.free[p] -= q
            if self.plan.pools.moves[p] is not None:
                minutes += self.send(i, p)
        if self.began[i] != NEVER:
            self.ends[i] = self.seen_end(i, t)
        elif self.plan.mode[i] == 2:
            self.ends[i] = self.paused_end(i, t, minutes)
        elif self.plan.mode[i] == 3:
            self.ends[i] = self.unbroken_end(i, t, minutes)
        elif t + minutes <= self.plan.horizon:
            self.ends[i] = t + minutes
        return self.ends[i] == t and self.end(i, t)

    def seen_end(self, i, t):
        """When a pinned step ended, or will by what is left of it."""
        if self.pins.ended[i] != NEVER:
            return max(int(self.pins.ended[i]), t)
        since, left = max(self.pins.data_date_min, t), int(self.pins.left[i])
        if self.plan.mode[i] == 2:
            return self.paused_end(i, since, left)
        if self.plan.mode[i] == 3:
            return self.unbroken_end(i, since, left)
        return since + left

    def send(self, i, p):
        place = int(self.plan.place[i])
        ways = [
            (0 if place < 0 else int(self.plan.pools.moves[p][at, place]), unit)
            for unit, at in enumerate(self.at[p])
            if unit not in self.away[p]
        ]
        if not ways:  # lent until it is given back
            self.unit[i] = None
            return 0
        way, unit = min(ways)
        self.away[p].add(unit)
        self.unit[i] = unit
        return way

    def paused_end(self, i, t, minutes):
        window = self.windows[self.plan.window[i]]
        while minutes > 0:
            if t >= self.plan.horizon:
                return None
            minutes -= bool(window.open[t])
            t += 1
        return t

    def unbroken_end(self, i, t, minutes):
        window = self.windows[self.plan.window[i]]
        left = minutes
        while left > 0:
            if t >= self.plan.horizon:
                return None
            left = left - 1 if window.open[t] else minutes
            t += 1
        return t

    def end(self, i, t):
        self.finished[i] = t
        gives = zip(self.plan.give_pool[i], self.plan.give_quantity[i], self.plan.give_taker[i], strict=True)
        for p, q, taker in [tuple(map(int, g)) for g in gives]:
            self.free[p] += q
            if self.plan.pools.moves[p] is not None:
                unit = self.unit[taker]
                if unit is None:
                    continue
                self.away[p].discard(unit)
                for place in (int(self.plan.place[taker]), int(self.plan.place[i])):
                    if place >= 0:
                        self.at[p][unit] = place
        return True
