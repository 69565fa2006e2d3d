"""The queue of `plain_simpy.stock_queue` in other simulators, where they are installed (extra `dev`)."""

from __future__ import annotations

from collections.abc import Callable
from importlib.util import find_spec

import numpy as np


def known() -> dict[str, Callable[..., float]]:
    """The simulators that are there, each a function that gives the mean wait. [min]"""
    found = {"Ciw": ("ciw", in_ciw), "salabim": ("salabim", in_salabim)}
    return {name: play for name, (module, play) in found.items() if find_spec(module) is not None}


def in_ciw(arrivals: np.ndarray, services: np.ndarray, *, servers: int) -> float:
    """Ciw (Palmer, Knight, Harper & Hawa 2019): customers come and are served by given sequences. [min]"""
    import ciw

    gaps = np.diff(arrivals, prepend=0).astype(float).tolist()
    network = ciw.create_network(
        arrival_distributions=[ciw.dists.Sequential([*gaps, float("inf")])],
        service_distributions=[ciw.dists.Sequential(services.astype(float).tolist())],
        number_of_servers=[servers],
    )
    simulation = ciw.Simulation(network)
    simulation.simulate_until_max_customers(len(arrivals), method="Complete")
    waits = [record.waiting_time for record in simulation.get_all_records()]
    assert len(waits) == len(arrivals)
    return float(np.mean(waits))


def in_salabim(arrivals: np.ndarray, services: np.ndarray, *, servers: int) -> float:
    """Salabim (van der Ham 2018, JOSS 3(27) 767): one component a customer, one resource. [min]"""
    import salabim

    environment = salabim.Environment(trace=False, yieldless=False)
    pool, waits = salabim.Resource(capacity=servers, env=environment), []

    class Customer(salabim.Component):
        def process(self, service: float):
            since = environment.now()
            yield self.request(pool)
            waits.append(environment.now() - since)
            yield self.hold(service)
            self.release(pool)

    for at, service in zip(arrivals.tolist(), services.tolist(), strict=True):
        Customer(at=at, service=service, env=environment)
    environment.run()
    assert len(waits) == len(arrivals)
    return float(np.mean(waits))
