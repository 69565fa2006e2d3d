"""Whose turn it is: the instant rule for steps that wait for pools.

At every instant, after all endings, dates and openings, the waiting step with the smallest key that can
start does start, taking everything it needs at once; if it lasts no time its end is let happen first;
then the next, until none can start. The key is (ready minute if its pools are first come, else 0; rank;
number).

A step that cannot start waits in exactly one spot, and is looked at again only when that spot changes:
- AFRESH: to be looked at in this instant;
- a pool's number: it watches the first pool it is short of, until that pool gains;
- BEHIND: it is not the head of its line, until it is;
- SHUT: its window is closed or too little of the shift is left, until the opening at which it fits.
This is bookkeeping: it saves work and never shows in who starts when.
"""

from __future__ import annotations

from heapq import heappop, heappush

import simpy

from towerpace.engine.openings import Openings
from towerpace.engine.pools import PoolState
from towerpace.plan.model import NONE, Plan

Key = tuple[int, int, int]
AFTER_EVERYTHING = simpy.events.EventPriority(simpy.events.NORMAL + 1)
AFRESH, BEHIND, SHUT, NOWHERE = -2, -3, -4, -1


class Turns:
    """The waiting steps of one trial and the rule that serves them."""

    def __init__(
        self,
        env: simpy.Environment,
        *,
        plan: Plan,
        work: list[int],
        pools: PoolState,
        openings: Openings,
        enabler: list[int],
    ) -> None:
        self._env, self._pools, self._openings = env, pools, openings
        self._work, self._enabler = work, enabler
        lists = plan.lists
        self._rank, self._first_come, self._line = lists.rank, lists.first_come, lists.line
        self._window, self._expected = lists.window, lists.expected
        self._lines: list[list[Key]] = [[] for _ in plan.pools.lines]
        self._event: dict[int, simpy.Event] = {}
        self._spot = [NOWHERE] * plan.n
        self._watched = [NONE] * plan.n
        self._watchers: list[list[Key]] = [[] for _ in plan.pools.names]
        self._aside: dict[int, list[Key]] = {}
        self._gained: set[int] = set()
        self._afresh: list[Key] = []
        self._waking: dict[int, list[Key]] = {}
        self._called = False
        self._pinned: dict[int, bool] = {}

    def wait(self, step: int) -> simpy.Event:
        """Join the waiting steps; the event comes with the minutes the step's unit must move first."""
        now = int(self._env.now)
        key = (now if self._first_come[step] else 0, self._rank[step], step)
        if self._line[step] != NONE:
            heappush(self._lines[self._line[step]], key)
        event = self._event[step] = self._env.event()
        self._look_at(key)
        return event

    def take_anyway(self, step: int, *, ready: int, lasts: bool) -> simpy.Event:
        """A pinned step takes what it needs in this instant, whatever is free, when its key comes.

        lasts : whether it ends later than now.
        """
        key = (ready if self._first_come[step] else 0, self._rank[step], step)
        event = self._event[step] = self._env.event()
        self._pinned[step] = lasts
        self._look_at(key)
        return event

    def gained(self, pool: int) -> None:
        """Units of a pool came free: its watchers are due."""
        self._gained.add(pool)
        self._put_back(pool)
        self._call()

    def _look_at(self, key: Key) -> None:
        self._spot[key[2]] = AFRESH
        heappush(self._afresh, key)
        self._call()

    def _call(self) -> None:
        """Have the turns served at this instant, after everything else that happens in it."""
        if not self._called:
            self._called = True
            event = self._env.event()
            event._ok, event._value = True, None
            event.callbacks = [self._serve]
            self._env.schedule(event, priority=AFTER_EVERYTHING)

    def _serve(self, _: simpy.Event) -> None:
        self._called = False
        while (key := self._next()) is not None:
            if self._try_to_start(key):
                self._call()  # it lasts no time: its end comes first, then the others are served
                return
        self._gained.clear()
        for pool in list(self._aside):
            self._put_back(pool)

    def _next(self) -> Key | None:
        """Take out the smallest key among those due; entries left behind at an old spot are dropped."""
        best, source = None, None
        queues = [(AFRESH, self._afresh)]
        queues += [(pool, self._watchers[pool]) for pool in self._gained if self._pools.free[pool] > 0]
        for spot, queue in queues:
            while queue and self._spot[queue[0][2]] != spot:
                heappop(queue)
            if queue and (best is None or queue[0] < best):
                best, source = queue[0], queue
        if source is not None:
            heappop(source)
        return best

    def _try_to_start(self, key: Key) -> bool:
        """Start the step if it can, else send it to its spot; True if it started and lasts no time."""
        step = key[2]
        if step in self._pinned:
            return self._start_pinned(step)
        line = self._lines[self._line[step]] if self._line[step] != NONE else None
        if line is not None and line[0] != key:
            self._spot[step], self._watched[step] = BEHIND, NONE
            return False
        short = self._pools.short_of(step)
        if short != NONE:
            self._watch(short, key)
            return False
        if self._watched[step] != NONE:
            self._enabler[step] = self._pools.last_giver[self._watched[step]]
            self._watched[step] = NONE
        if not self._window_allows(key):
            return False
        self._spot[step] = NOWHERE
        if line is not None:
            self._leave(line, step)
        move = self._pools.take(step)
        self._event.pop(step).succeed(move)
        return move == 0 and self._work[step] == 0

    def _start_pinned(self, step: int) -> bool:
        """Take what a pinned step needs; True if it ended when it began."""
        self._spot[step] = NOWHERE
        self._event.pop(step).succeed(self._pools.take(step))
        return not self._pinned.pop(step)

    def _watch(self, pool: int, key: Key) -> None:
        """Wait for a pool; if it is being served now, only its next gain counts."""
        step = key[2]
        self._spot[step] = self._watched[step] = pool
        if pool in self._gained:
            self._aside.setdefault(pool, []).append(key)
        else:
            heappush(self._watchers[pool], key)

    def _put_back(self, pool: int) -> None:
        for key in self._aside.pop(pool, ()):
            heappush(self._watchers[pool], key)

    def _window_allows(self, key: Key) -> bool:
        step, now = key[2], int(self._env.now)
        window = self._window[step]
        if window == NONE:
            return True
        opens = self._openings[window].next_start(now, self._expected[step])
        if opens == now:
            return True
        self._spot[step] = SHUT
        if opens is not None:
            self._wake_at(opens, key)
        return False

    def _wake_at(self, minute: int, key: Key) -> None:
        if minute in self._waking:
            self._waking[minute].append(key)
            return
        self._waking[minute] = [key]
        alarm = self._env.timeout(minute - self._env.now)
        alarm.callbacks.append(lambda _: self._wake(minute))

    def _wake(self, minute: int) -> None:
        for key in self._waking.pop(minute):
            if self._spot[key[2]] == SHUT:
                self._look_at(key)

    def _leave(self, line: list[Key], step: int) -> None:
        """The head leaves its line; who stood right behind it is looked at, and owes it the turn."""
        heappop(line)
        if line and self._spot[line[0][2]] == BEHIND:
            self._enabler[line[0][2]] = self._enabler[step]
            self._look_at(line[0])
