"""The same tower as a modeller would write it with SimPy's stock resources: for the bench, nothing else.

One process a step; pools are PriorityResources asked for one after the other, so two holders can wait for
each other and the order of requests shows in the result. Only its speed is compared.
"""

from __future__ import annotations

from collections.abc import Generator
from typing import Any

import numpy as np
import simpy

from towerpace import Plan
from towerpace.draws import Draw
from towerpace.engine.openings import Openings
from towerpace.plan.lists import UNBROKEN, WORK


class PlainTower:
    """Processes and stock resources for one trial of a plan without positioned pools' moves."""

    def __init__(self, plan: Plan, draw: Draw, openings: Openings) -> None:
        self.plan, self.draw, self.openings = plan, draw, openings
        self.env = simpy.Environment()
        self.pools = [simpy.PriorityResource(self.env, max(1, int(n))) for n in plan.pools.units]
        self.done = [self.env.event() for _ in range(plan.n)]
        self.held: dict[tuple[int, int], list[Any]] = {}
        self.ended = 0

    def play(self) -> int:
        """Steps that ended by the horizon."""
        for step in range(self.plan.n):
            self.env.process(self.story(step))
        self.env.run(until=self.plan.horizon + 1)
        return self.ended

    def story(self, step: int) -> Generator[Any, Any, None]:
        """One step."""
        lists, env = self.plan.lists, self.env
        before = [self.done[p] for p in lists.before[step]]
        if before:
            yield simpy.AllOf(env, before)
        if not self.draw.skip[step]:
            yield from self.work(step)
        self.ended += 1
        self.done[step].succeed()

    def work(self, step: int) -> Generator[Any, Any, None]:
        """Take, wait for the window, work, give."""
        lists, env = self.plan.lists, self.env
        if self.draw.date[step] > env.now:
            yield env.timeout(int(self.draw.date[step]) - env.now)
        for pool, quantity in lists.needs[step]:
            requests = [self.pools[pool].request(priority=lists.rank[step]) for _ in range(quantity)]
            yield simpy.AllOf(env, requests)
            self.held.setdefault((step, pool), []).extend(requests)
        minutes = int(self.draw.work[step])
        if lists.window[step] >= 0:
            opening = self.openings[lists.window[step]]
            start = opening.next_start(int(env.now), lists.expected[step])
            yield env.timeout((self.plan.horizon + 1 if start is None else start) - env.now)
            ends = {WORK: opening.done, UNBROKEN: opening.done_unbroken}.get(lists.mode[step])
            end = ends(int(env.now), minutes) if ends else int(env.now) + minutes
            minutes = (self.plan.horizon + 1 if end is None else end) - int(env.now)
        yield env.timeout(minutes)
        for pool, quantity, taker in lists.gives[step]:
            for request in [self.held[taker, pool].pop() for _ in range(quantity if taker >= 0 else 0)]:
                self.pools[pool].release(request)


def customers(n: int, *, servers: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Arrival minutes and service minutes of a queue at 80 % load. [min]"""
    rng = np.random.default_rng(seed)
    arrivals = np.cumsum(rng.exponential(1000, n)).astype(np.int64)
    return arrivals, np.maximum(1, rng.exponential(800 * servers, n)).astype(np.int64)


def stock_queue(arrivals: np.ndarray, services: np.ndarray, *, servers: int) -> float:
    """The queue with a stock resource; mean wait. [min]"""
    env = simpy.Environment()
    pool, waits = simpy.Resource(env, servers), []

    def customer(at: int, service: int) -> Generator[Any, Any, None]:
        yield env.timeout(at)
        with pool.request() as turn:
            yield turn
            waits.append(env.now - at)
            yield env.timeout(service)

    for at, service in zip(arrivals.tolist(), services.tolist(), strict=True):
        env.process(customer(at, service))
    env.run()
    return float(np.mean(waits))
