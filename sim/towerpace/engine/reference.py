"""The reference engine: one trial of a plan on the SimPy clock, written to be read.

A step starts at the first instant when its predecessors are done, its date has come, its window is open,
and every pool it needs has enough to spare; steps competing at the same instant are served in the order
of their keys (`turns`). Nothing else moves the site.
"""

from __future__ import annotations

from collections.abc import Generator

import numpy as np
import simpy

from towerpace.draws import Draw, as_planned, started_by
from towerpace.engine.diary import DATE, NEVER, ORIGIN, Diary
from towerpace.engine.openings import Openings
from towerpace.engine.pools import PoolState
from towerpace.engine.turns import Turns
from towerpace.plan.lists import UNBROKEN, WORK
from towerpace.plan.model import NONE, Plan
from towerpace.plan.pins import Pins

Story = Generator[simpy.Event, int, None]


def run(plan: Plan, draw: Draw | None = None, *, openings: Openings | None = None) -> Diary:
    """Play one trial.

    plan : what is to be done.
    draw : what chance decided; by default everything goes as planned.
    openings : open minutes of the windows under this draw, if they are made already.
    """
    draw = as_planned(plan) if draw is None else draw
    draw.check(plan)
    if openings is None:
        openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
    return Site(plan, draw, openings).play()


class Site:
    """One trial: the steps' stories, the pools they share, and what is written in the diary."""

    def __init__(self, plan: Plan, draw: Draw, openings: Openings) -> None:
        self.plan, self.openings = plan, openings
        self.env = simpy.Environment()
        self.work: list[int] = draw.work.tolist()
        self.date: list[int] = started_by(draw).tolist()
        self.pins = draw.pins
        self.began: list[int] = [NEVER] * plan.n if draw.pins is None else draw.pins.began.tolist()
        self.skipped: list[bool] = draw.skip.tolist()
        lists = plan.lists
        self.window, self.mode, self.expected = lists.window, lists.mode, lists.expected
        self.after, self.gives = lists.after, lists.gives
        self.missing = lists.n_before.copy()
        self.ready, self.started, self.finished = ([NEVER] * plan.n for _ in range(3))
        self.enabler = [ORIGIN] * plan.n
        self.pools = PoolState(plan)
        self.turns = Turns(
            self.env, plan=plan, work=self.work, pools=self.pools, openings=openings, enabler=self.enabler
        )

    def play(self) -> Diary:
        """Run to the horizon; what has not ended by then never does."""
        self._let_go([i for i, k in enumerate(self.missing) if k == 0])
        self.env.run(until=self.plan.horizon + 1)
        stamps = [self.ready, self.started, self.finished, self.enabler]
        ready, started, finished, enabler = (np.array(s, dtype=np.int32) for s in stamps)
        return Diary(self.plan, ready, started, finished, np.where(started == NEVER, NEVER, enabler))

    def story(self, step: int) -> Story:
        """One step, from the minute its predecessors have ended."""
        env = self.env
        if self.date[step] > env.now:
            self.enabler[step] = DATE
            yield env.timeout(self.date[step] - env.now)
        self.ready[step] = int(env.now)

        move = 0
        if self.began[step] != NEVER:
            if self.began[step] > env.now:
                yield env.timeout(self.began[step] - env.now)
            if self.pools.needs[step]:
                lasts = self._end_of(step, move) != env.now
                yield self.turns.take_anyway(step, ready=self.ready[step], lasts=lasts)
        elif self.pools.needs[step]:
            move = yield self.turns.wait(step)
        elif self.window[step] != NONE:
            opens = self.openings[self.window[step]].next_start(int(env.now), self.expected[step])
            if opens is None:
                return
            if opens > env.now:
                yield env.timeout(opens - env.now)
        self.started[step] = int(env.now)

        ends = self._end_of(step, move)
        if ends is None:
            return
        if ends > env.now:
            yield env.timeout(ends - env.now)
        self._end(step)

    def _end_of(self, step: int, move: int) -> int | None:
        """The minute a step started now will end; None if that lies beyond the horizon."""
        if self.pins is not None and self.began[step] != NEVER:
            return self._end_of_pinned(step, self.pins)
        now, minutes = int(self.env.now), self.work[step] + move
        if self.mode[step] == WORK:
            return self.openings[self.window[step]].done(now, minutes)
        if self.mode[step] == UNBROKEN:
            return self.openings[self.window[step]].done_unbroken(now, minutes)
        return now + minutes

    def _end_of_pinned(self, step: int, pins: Pins) -> int | None:
        """When it ended; else what is left passes from the data date on."""
        ended, left, since = (
            int(pins.ended[step]),
            int(pins.left[step]),
            max(pins.data_date_min, int(self.env.now)),
        )
        if ended != NEVER:
            return max(ended, int(self.env.now))
        if self.mode[step] == WORK:
            return self.openings[self.window[step]].done(since, left)
        if self.mode[step] == UNBROKEN:
            return self.openings[self.window[step]].done_unbroken(since, left)
        return since + left

    def _end(self, step: int) -> None:
        """Write the end down, hand over what the step gives, and let its successors go."""
        now = int(self.env.now)
        self.finished[step] = now
        for pool, quantity, taker in self.gives[step]:
            self.pools.give(pool, quantity=quantity, giver=step, taker=taker, minute=now)
            self.turns.gained(pool)
        self._let_go(self._released_by(step))

    def _released_by(self, step: int) -> list[int]:
        """Successors whose last predecessor this step was."""
        released = []
        for j in self.after[step]:
            self._owe(j, step)
            self.missing[j] -= 1
            if self.missing[j] == 0:
                released.append(j)
        return released

    def _owe(self, j: int, step: int) -> None:
        """The last predecessor to end enables; of one minute, the highest number."""
        last = self.enabler[j]
        if last < 0 or step > last or self.finished[last] < self.finished[step]:
            self.enabler[j] = step

    def _let_go(self, steps: list[int]) -> None:
        """Begin the stories of steps whose predecessors have ended; skipped ones pass at once."""
        stack = steps
        while stack:
            step = stack.pop()
            if self.skipped[step]:
                self.ready[step] = self.started[step] = self.finished[step] = int(self.env.now)
                stack += self._released_by(step)
            else:
                self.env.process(self.story(step))
