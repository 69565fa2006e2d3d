"""The same tower as a modeller would write it with SimPy's stock resources: for the bench, nothing else.

A process begins when what comes before it has ended, and asks for resources then; a pool that is served first
come is a Resource, any other a PriorityResource. Pools are asked for one after the other, so two holders can
wait for each other and the order of requests shows in the result. Only its speed is compared.
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
        self.plan, self.openings = plan, openings
        self.env = simpy.Environment()
        self.pools = [self.resource(k) for k in range(len(plan.pools.names))]
        self.minutes, self.date, self.skip = (x.tolist() for x in (draw.work, draw.date, draw.skip))
        self.missing = plan.lists.n_before.copy()
        self.held: dict[tuple[int, int], list[Any]] = {}
        self.ended = 0

    def resource(self, pool: int) -> simpy.Resource:
        """A pool as stock has it; only those served by rank have to sort who waits."""
        pools = self.plan.pools
        kind = simpy.Resource if pools.first_come[pool] else simpy.PriorityResource
        return kind(self.env, max(1, int(pools.units[pool])))

    def play(self) -> int:
        """Steps that ended by the horizon."""
        self.begin([step for step, n in enumerate(self.missing) if n == 0])
        self.env.run(until=self.plan.horizon + 1)
        return self.ended

    def begin(self, steps: list[int]) -> None:
        """Start the processes of steps that nothing is before any more; those left out pass at once."""
        while steps:
            step = steps.pop()
            if self.skip[step]:
                steps += self.end(step)
            else:
                self.env.process(self.story(step))

    def end(self, step: int) -> list[int]:
        """Steps for which this was the last that they waited for."""
        self.ended += 1
        released = []
        for successor in self.plan.lists.after[step]:
            self.missing[successor] -= 1
            if self.missing[successor] == 0:
                released.append(successor)
        return released

    def story(self, step: int) -> Generator[Any, Any, None]:
        """One step."""
        yield from self.work(step)
        self.begin(self.end(step))

    def work(self, step: int) -> Generator[Any, Any, None]:
        """Take, wait for the window, work, give."""
        lists, env = self.plan.lists, self.env
        if self.date[step] > env.now:
            yield env.timeout(self.date[step] - env.now)
        for pool, quantity in lists.needs[step]:
            requests = [self.request(pool, step) for _ in range(quantity)]
            for request in requests:
                yield request
            self.held.setdefault((step, pool), []).extend(requests)
        minutes = self.minutes[step]
        if lists.window[step] >= 0:
            opening = self.openings[lists.window[step]]
            start = opening.next_start(int(env.now), lists.expected[step])
            yield env.timeout((self.plan.horizon + 1 if start is None else start) - env.now)
            ends = {WORK: opening.done, UNBROKEN: opening.done_unbroken}.get(lists.mode[step])
            end = ends(int(env.now), minutes) if ends else int(env.now) + minutes
            minutes = (self.plan.horizon + 1 if end is None else end) - int(env.now)
        if minutes:
            yield env.timeout(minutes)
        for pool, quantity, taker in lists.gives[step]:
            for request in [self.held[taker, pool].pop() for _ in range(quantity if taker >= 0 else 0)]:
                self.pools[pool].release(request)

    def request(self, pool: int, step: int) -> Any:
        """Ask for one unit."""
        resource = self.pools[pool]
        if isinstance(resource, simpy.PriorityResource):
            return resource.request(priority=self.plan.lists.rank[step])
        return resource.request()


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
