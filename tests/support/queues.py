"""Queues said with steps: customers as dated steps of one pool, and what their stamps tell.

An hour has 6,000 ticks of the engine's whole minutes, so that rounding shows nowhere.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from support.drawn import drawn, whole
from support.estimates import Estimate, batch_mean_of, mean_of
from towerpace import Plan, Pool, Step, Window, run

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
HOUR = 6000
BATCHES = 32
WARM_UP = 0.04


@dataclass(frozen=True)
class Trace:
    """Arrival, start of service and end of every customer, (n,). [ticks]

    service : drawn work. [ticks]  servers : units of the pool.
    """

    arrived: Ints
    started: Ints
    ended: Ints
    service: Ints
    servers: int

    @property
    def wait_h(self) -> Floats:
        """Hours in the queue, in order of arrival, (n,). [h]"""
        return np.asarray((self.started - self.arrived) / HOUR, dtype=np.float64)

    @property
    def stay_h(self) -> Floats:
        """Hours in the queue and in service, in order of arrival, (n,). [h]"""
        return np.asarray((self.ended - self.arrived) / HOUR, dtype=np.float64)

    def mean_wait_h(self) -> Estimate:
        return batch_mean_of(self.wait_h, batches=BATCHES, warm_up=WARM_UP)

    def mean_stay_h(self) -> Estimate:
        return batch_mean_of(self.stay_h, batches=BATCHES, warm_up=WARM_UP)

    def chance_to_wait(self) -> Estimate:
        return batch_mean_of(self.started > self.arrived, batches=BATCHES, warm_up=WARM_UP)

    def mean_present(self) -> Estimate:
        """Time average of the number of customers present, over batches of time."""
        return self._over_time(lambda t: time_spent(self.arrived, t) - time_spent(self.ended, t))

    def mean_queue(self) -> Estimate:
        """Time average of the number of customers waiting, over batches of time."""
        return self._over_time(lambda t: time_spent(self.arrived, t) - time_spent(self.started, t))

    def share_of_time_empty(self) -> Estimate:
        """Share of time without a customer, over batches of time."""
        return self._over_time(lambda t: empty_time(self.arrived, self.ended, t))

    def _over_time(self, integral: Callable[[Floats], Floats]) -> Estimate:
        last = float(self.arrived.max())
        edges = np.linspace(WARM_UP * last, last, BATCHES + 1)
        return mean_of(np.diff(integral(edges)) / np.diff(edges))


def time_spent(since: Ints, at: Floats) -> Floats:
    """Sum over customers of the time since their stamp, at given times: integral of their count. [ticks]"""
    stamps = np.sort(since)
    count = np.searchsorted(stamps, at, side="right")
    return np.subtract(count * at, np.concatenate(([0], np.cumsum(stamps)))[count])


def empty_time(arrived: Ints, ended: Ints, at: Floats) -> Floats:
    """Time without a customer up to the given times. [ticks]"""
    times = np.concatenate((arrived, ended))
    order = np.lexsort((np.repeat([0, 1], len(arrived)), times))
    times = np.concatenate(([0], times[order]))
    present = np.concatenate(([0], np.cumsum(np.repeat([1, -1], len(arrived))[order])))
    empty = np.concatenate(([0], np.cumsum(np.diff(times) * (present[:-1] == 0))))
    made: Floats = np.interp(at, times, empty)
    return made


def served(
    gap_h: ArrayLike,
    service_h: ArrayLike,
    *,
    servers: int = 1,
    rank: ArrayLike | None = None,
    stops: ArrayLike | None = None,
    engine: Literal["fastest", "reference"] = "fastest",
) -> Trace:
    """Play customers with the given gaps between arrivals and services, both (n,). [h]

    Where the first to come is the first served, customers are numbered backwards: only the minute of their
    arrival can put them in order.

    rank : by class, smaller first; by default first come, first served.
    stops : (k, 2) spans in which the server stands still and keeps its customer. [h]
    engine : the one that plays; both give the same diary, which checks customer by customer show.
    """
    arrived, service = whole(np.cumsum(gap_h) * HOUR), whole(np.asarray(service_h) * HOUR)
    order = () if rank is None else tuple(np.asarray(rank).tolist())
    if stops is None and not order:
        plan = _first_come(len(arrived), servers)
    else:
        plan = _queue(len(arrived), servers, order, None if stops is None else calm(np.asarray(stops)))
    number = np.arange(len(arrived)) if order else np.arange(len(arrived))[::-1]
    diary = run(plan, drawn(plan, work=service[number], date=arrived[number]), engine=engine)
    ready, started, ended = (a.astype(np.int64)[number] for a in (diary.ready, diary.started, diary.finished))
    return Trace(ready, started, ended, service, servers)


@lru_cache(maxsize=1)
def _first_come(customers: int, servers: int) -> Plan:
    """The plan of one test is often that of the next, for other services."""
    return _queue(customers, servers, (), None)


def _queue(customers: int, servers: int, ranks: tuple[int, ...], window: Window | None) -> Plan:
    """Customers by number; works and dates come with the draw."""
    one = Step("", needs={"hoist": 1})
    if window is not None:
        one = replace(one, window=window.name, mode="work")
    steps = [replace(one, name=str(k), rank=rank) for k, rank in enumerate(ranks or (0,) * customers)]
    pool = Pool("hoist", servers, order="rank" if ranks else "first come")
    return Plan(steps, pools=[pool], windows=[] if window is None else [window])


def calm(stops_h: np.ndarray) -> Window:
    """Always open but for the stops; those shorter than a tick are none."""
    ticks = np.rint(stops_h * HOUR).astype(np.int64)
    return Window("calm", [(0, 2**31 - 2)], stops=ticks[ticks[:, 1] > ticks[:, 0]])
