"""Queues at hoists through the same engine: open arrivals, several servers, priorities, stops, few callers.

Oracles: closed forms recomputed here (A. K. Erlang 1917; F. Pollaczek 1930 and A. Khinchine 1932; A. Cobham
1954; the machine-repair model of textbooks; H. White & L. Christie 1958; J. Little 1961; all citations from
memory), the recursion of D. Lindley 1952 customer by customer, and Ciw, an independent queueing simulator, as
a second opinion. Every tabled value was also recomputed from the balance equations of the Markov chain.

Means of dependent customers carry the standard error of 32 batch means after 4 % of the run is left out;
every comparison allows 4 of them and refuses an estimate too coarse to see the departure stated in the test.
"""

import heapq
from dataclasses import dataclass
from math import factorial, log, sqrt
from typing import Literal

import numpy as np
import pytest

from support.drawn import drawn
from support.estimates import batch_mean_of, mean_of
from support.feasibility import check
from support.queues import HOUR, Trace, empty_time, served, time_spent
from towerpace import Plan, Pool, Step, run
from towerpace.draws import stream


def chances(name: str):
    return stream(1921, 0, name)


def erlang(arrivals_h: float, services_h: float, servers: int) -> tuple[float, float, float]:
    """P(empty), P(wait) and mean wait [h] of Poisson arrivals at exponential servers (Erlang C)."""
    load = arrivals_h / services_h
    busy = load**servers / factorial(servers) / (1 - load / servers)
    empty = 1 / (sum(load**n / factorial(n) for n in range(servers)) + busy)
    return empty, busy * empty, busy * empty / (servers * services_h - arrivals_h)


def assert_conserved(trace: Trace) -> None:
    """L = lambda W to 1e-9 on a trace that starts and ends empty, and no minute of service lost or made.

    J. Little 1961, A proof for the queuing formula L = lambda W, Operations Research 9: 383-387 (from
    memory). The left side is a sweep over the numbers present, the right side a sum over customers.
    """
    end = float(trace.ended.max())
    present = np.concatenate((np.ones(len(trace.arrived)), -np.ones(len(trace.ended))))
    times = np.concatenate((trace.arrived, trace.ended))
    order = np.argsort(times, kind="stable")
    area = float((np.cumsum(present[order])[:-1] * np.diff(times[order])).sum())
    rate = len(trace.arrived) / end
    assert area / end == pytest.approx(rate * float((trace.ended - trace.arrived).mean()), rel=1e-9)
    assert np.array_equal(trace.ended - trace.started, trace.service)
    in_service = np.cumsum(
        present[np.argsort(np.concatenate((trace.started + 0.5, trace.ended)), kind="stable")]
    )
    assert in_service.max() <= trace.servers


@dataclass(frozen=True)
class Desk:
    """Rates per hour, servers, customers to play, and the tabled values."""

    arrivals_h: float
    services_h: float
    servers: int
    customers: int
    chance: float
    wait_h: float
    sees: float


DESKS = {
    "one doctor": Desk(2, 3, 1, 80_000, 2 / 3, 0.666667, 0.2),
    "two doctors": Desk(2, 3, 2, 40_000, 0.166667, 0.041667, 0.2),
    "two hoists": Desk(20, 12, 2, 100_000, 0.757576, 0.189394, 0.24),
    "three hoists": Desk(30, 12, 3, 100_000, 0.702247, 0.117041, 0.24),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", DESKS)
def test_exponential_servers_follow_erlang(name, stand):
    """County Hospital of Hillier & Lieberman (inputs from memory) and two banks of hoists, A. K. Erlang 1917.

    Standard errors: 2.5 to 5 % of the mean wait, 0.5 to 2 % of the chance to wait, 0.5 to 4 % of time
    averages.
    """
    desk = DESKS[name]
    empty, chance, wait_h = erlang(desk.arrivals_h, desk.services_h, desk.servers)
    assert (chance, wait_h) == pytest.approx((desk.chance, desk.wait_h), abs=1e-6)
    rng = chances(name)
    gaps = rng.standard_exponential(desk.customers) / desk.arrivals_h
    trace = served(gaps, rng.standard_exponential(desk.customers) / desk.services_h, servers=desk.servers)
    assert_conserved(trace)
    assert trace.chance_to_wait().agrees(chance, sees=0.1)
    stand(
        f"{name}, {desk.arrivals_h:g} calls an hour, each serves {desk.services_h:g}: mean wait [h], P(wait)",
        "Erlang 1917",
        expected=(desk.wait_h, round(desk.chance, 6)),
        got=(trace.mean_wait_h(), trace.chance_to_wait()),
        sees=desk.sees,
    )
    assert trace.mean_queue().agrees(desk.arrivals_h * wait_h, sees=desk.sees)
    assert trace.mean_present().agrees(desk.arrivals_h * (wait_h + 1 / desk.services_h), sees=0.16)
    assert trace.share_of_time_empty().agrees(empty, sees=0.16)
    busy = time_spent(trace.started, trace.arrived[-1:]) - time_spent(trace.ended, trace.arrived[-1:])
    offered = desk.arrivals_h / desk.services_h / desk.servers
    assert float(busy[0]) / trace.arrived[-1] / desk.servers == pytest.approx(
        offered, rel=4 * sqrt(2 / desk.customers)
    )


def test_tabled_county_hospital_follows_from_the_formula():
    """S = 1: P0 .333333, Lq 1.333333; s = 2: P0 .5, Lq .083333, L .75, W .375 h (Hillier & Lieberman)."""
    empty, _, wait_h = erlang(2, 3, 1)
    assert (empty, 2 * wait_h) == pytest.approx((0.333333, 1.333333), abs=1e-6)
    empty, _, wait_h = erlang(2, 3, 2)
    stay_h = wait_h + 1 / 3
    assert (empty, 2 * wait_h, 2 * stay_h, stay_h) == pytest.approx((0.5, 0.083333, 0.75, 0.375), abs=1e-6)


@pytest.mark.parametrize("servers", [1, 2, 5])
def test_first_come_waits_are_those_of_the_recursion_customer_by_customer(servers, stand):
    """D. Lindley 1952, The theory of queues with a single server, Proceedings of the Cambridge Philosophical
    Society 48: 277-289; J. Kiefer & J. Wolfowitz 1955 for several servers (from memory). 8,000 customers,
    exact.
    """
    rng = chances(f"recursion {servers}")
    apart = 1.01 / HOUR  # no two arrive in one minute, so first come decides alone
    gaps, services = apart + rng.standard_exponential(8_000) / 9, rng.gamma(0.5, size=8_000) / 5 * servers
    trace = served(gaps, services, servers=servers, engine="reference")
    assert np.array_equal(trace.started, served(gaps, services, servers=servers).started)
    free, equal = [0] * servers, 0
    for arrived, service, started in zip(
        trace.arrived.tolist(), trace.service.tolist(), trace.started.tolist(), strict=True
    ):
        start = max(arrived, heapq.heappop(free))
        assert started == start
        equal += started == start
        heapq.heappush(free, start + service)
    assert (trace.started > trace.arrived).mean() > 0.5
    check = f"servers: {servers}, first come, of 8,000 customers with the wait of the recursion"
    stand(check, "Lindley 1952, Kiefer & Wolfowitz 1955", expected=8000, got=equal)
    assert_conserved(trace)


def lognormal(rng, n):
    sigma = sqrt(log(1.25))
    return 6 * np.exp(sigma * rng.standard_normal(n) - sigma**2 / 2)


SERVICES = {
    "exponential": (lambda rng, n: 6 * rng.standard_exponential(n), 72, 24),
    "deterministic": (lambda _, n: np.full(n, 6.0), 36, 12),
    "triangular": (lambda rng, n: rng.triangular(3, 5, 10, n), 36 + 13 / 6, 12.722222),
    "uniform": (lambda rng, n: rng.uniform(4, 8, n), 36 + 16 / 12, 12.444444),
    "lognormal": (lognormal, 36 * 1.25, 15),
}


@pytest.mark.slow
@pytest.mark.parametrize("law", SERVICES)
def test_one_hoist_of_any_service_law_follows_pollaczek_and_khinchine(law, stand):
    """Wq = lambda E[S^2] / (2 (1 - rho)), 8 calls an hour of 6 min on average (D. Gross & C. Harris,
    Fundamentals of Queueing Theory; from memory, also checked by 6,000,000 customers of the recursion).
    60,000 customers: standard error 2.5 to 5 % of the mean wait.
    """
    draw, square, wait_min = SERVICES[law]
    assert 8 / 60 * square / (2 * (1 - 0.8)) == pytest.approx(wait_min, abs=1e-6)
    rng = chances(f"service {law}")
    n = 60_000
    service_min = draw(rng, n)
    trace = served(rng.standard_exponential(n) / 8, service_min / 60)
    check = f"one hoist, 8 calls an hour, {law} service of 6 min: mean wait [h]"
    got = trace.mean_wait_h()
    stand(check, "Pollaczek 1930, Khinchine 1932", expected=round(wait_min / 60, 6), got=got, sees=0.24)
    assert trace.share_of_time_empty().agrees(0.2, sees=0.12)
    assert_conserved(trace)


@pytest.mark.slow
def test_urgent_calls_and_others_wait_as_cobham_says(stand):
    """A. Cobham 1954, Priority assignment in waiting line problems, Operations Research 2: 70-76 (from
    memory): with R = sum lambda E[S^2] / 2 urgent calls wait R / (1 - rho1), others R / ((1 - rho1)(1 -
    rho)), nobody interrupted.

    3 urgent and 4 other calls an hour, 6 min exponential and 8 to 10 min uniform: rho 0.3 and 0.6. 100,000
    customers: standard errors 1.3 % and 9 % of the waits.
    """
    rng = chances("priorities")
    n = 100_000
    urgent = rng.random(n) < 3 / 7
    service_h = np.where(urgent, rng.standard_exponential(n) / 10, rng.uniform(8, 10, n) / 60)
    trace = served(rng.standard_exponential(n) / 7, service_h, rank=np.where(urgent, 0, 1))
    rest_h = 3 * 2 / 100 / 2 + 4 * (81 + 4 / 12) / 3600 / 2
    urgent_h, other_h = rest_h / 0.7, rest_h / (0.7 * 0.1)
    for word, members, wait_h, sees in (
        ("urgent", urgent, urgent_h, 0.07),
        ("other", ~urgent, other_h, 0.42),
    ):
        got = batch_mean_of(trace.wait_h[members])
        stand(
            f"priorities, {word} calls: mean wait [h]",
            "Cobham 1954",
            expected=round(wait_h, 6),
            got=got,
            sees=sees,
        )
    assert_conserved(trace)


@dataclass(frozen=True)
class Crews:
    """Crews that call a hoist: how many, minutes between calls and of a ride, cars, and the tabled values."""

    callers: int
    between_min: float
    ride_min: float
    cars: int
    wait_min: float
    rides_per_min: float


REPAIR = [
    Crews(5, 30, 6, 1, 5.950287, 0.119189),
    Crews(8, 30, 6, 1, 15.615559, 0.154992),
    Crews(8, 30, 6, 2, 1.883575, 0.211173),
    Crews(10, 20, 4, 2, 2.328682, 0.379814),
]
MINUTE = 1000


def machine_repair(crews: Crews) -> tuple[float, float, float]:
    """P(no caller), mean wait [min] and rides per minute of finitely many exponential callers, in closed
    form.
    """
    ratio, n, c = crews.ride_min / crews.between_min, crews.callers, crews.cars
    weights = [
        factorial(n) / factorial(n - k) * ratio**k / (factorial(k) if k <= c else factorial(c) * c ** (k - c))
        for k in range(n + 1)
    ]
    share = np.array(weights) / sum(weights)
    rides = float((share * np.minimum(np.arange(n + 1), c)).sum() / crews.ride_min)
    waiting = float((share * np.maximum(np.arange(n + 1) - c, 0)).sum())
    return float(share[0]), waiting / rides, rides


def rides_of(crews: Crews, cycles: int, engine: Literal["fastest", "reference"]) -> tuple[np.ndarray, ...]:
    """Call, start and end of every ride until the first crew has made its last, by call. [ticks]"""
    steps = []
    for c in range(crews.callers):
        for k in range(cycles):
            steps.append(Step(f"work {c} {k}", after=[f"ride {c} {k - 1}"] if k else []))
            steps.append(Step(f"ride {c} {k}", after=[f"work {c} {k}"], needs={"car": 1}))
    plan = Plan(steps, pools=[Pool("car", crews.cars, order="first come")])
    rng = chances(f"{crews.callers} callers, {crews.cars} cars")
    works = rng.standard_exponential((plan.n // 2, 2)) * [crews.between_min * MINUTE, crews.ride_min * MINUTE]
    diary = run(plan, drawn(plan, work=works), engine=engine)
    stamps = np.array([diary.ready, diary.started, diary.finished], dtype=np.int64)[:, 1::2]
    until = stamps[2].reshape(crews.callers, cycles)[:, -1].min()
    stamps = stamps[:, stamps[0] < until]
    return (*stamps[:, np.argsort(stamps[0], kind="stable")], until)


@pytest.mark.slow
@pytest.mark.parametrize("crews", REPAIR, ids=lambda c: f"{c.callers} crews, {c.cars} cars")
def test_few_crews_that_call_a_hoist_follow_the_machine_repair_model(crews, stand):
    """Closed form of the finite-source queue (any text on queues; recomputed). About 30,000 rides: standard
    errors 1.3 to 2.5 % of the wait, 0.5 % of the rides. For 5 crews and 1 car: P0 .284868, crews at work
    .715132 of the time.
    """
    empty, wait_min, rides = machine_repair(crews)
    assert (wait_min, rides) == pytest.approx((crews.wait_min, crews.rides_per_min), abs=1e-6)
    if crews is REPAIR[0]:
        assert empty == pytest.approx(0.284868, abs=1e-6)
        working = 1 - rides * (wait_min + crews.ride_min) / crews.callers
        assert working == pytest.approx(0.715132, abs=1e-6)
    engine = "reference" if crews is REPAIR[0] else "fastest"  # which takes a twentieth of the time
    called, started, ended, until = rides_of(crews, 30_000 // crews.callers, engine)
    edges = np.linspace(0.04 * until, until, 33)
    got = mean_of(np.histogram(ended, edges)[0] / np.diff(edges) * MINUTE)
    assert got.agrees(rides, sees=0.05)
    stand(
        f"hoists: {crews.cars}, called by {crews.callers} crews: wait [min], rides a minute",
        "finite-source queue, closed form",
        expected=(crews.wait_min, crews.rides_per_min),
        got=(batch_mean_of((started - called) / MINUTE), got),
        sees=0.1,
    )
    assert mean_of(np.diff(empty_time(called, np.minimum(ended, until), edges)) / np.diff(edges)).agrees(
        empty, sees=0.16
    )
    open_h = erlang(rides * 60, 60 / crews.ride_min, crews.cars)[2]
    assert open_h * 60 > 1.5 * wait_min


STOPS_H, REPAIR_H = 0.1, 0.5


@pytest.mark.slow
def test_wind_stops_in_clock_time_keep_the_queue_long(stand):
    """Calls 6 and services 12 an hour; stops begin 0.1 an hour while calm and last 2 h: W = 1.083333 h, L =
    6.5.

    L = rho / (1 - rho) (1 + mu f / (f + r)^2), rho = lambda / mu (1 + f / r): H. White & L. Christie 1958,
    Queuing with preemptive priorities or with breakdown, Operations Research 6: 79-95 (from memory;
    recomputed from the Markov chain). As closures of the window of steps that pause. 120,000 customers:
    standard error 6 % of W. A service slowed to 10 an hour to allow for 83 % availability would give 0.25 h.
    """
    rho = 6 / 12 * (1 + STOPS_H / REPAIR_H)
    present = rho / (1 - rho) * (1 + 12 * STOPS_H / (STOPS_H + REPAIR_H) ** 2)
    assert (present, present / 6) == pytest.approx((6.5, 1.083333), abs=1e-6)
    rng = chances("wind stops")
    n = 120_000
    spans = rng.standard_exponential((5000, 2)) / [STOPS_H, REPAIR_H]
    edges = np.cumsum(spans.reshape(-1)).reshape(-1, 2)
    assert edges[-1, 1] > n / 6 * 1.1
    trace = served(rng.standard_exponential(n) / 6, rng.standard_exponential(n) / 12, stops=edges)
    check = "hoist stopped by wind in clock time, 17 % of it: mean stay [h]"
    stand(check, "White & Christie 1958", expected=1.083333, got=trace.mean_stay_h(), sees=0.3)
    assert trace.mean_present().agrees(present, sees=0.3)
    assert trace.mean_stay_h().value - 0.25 > 10 * trace.mean_stay_h().error


@pytest.mark.slow
def test_stops_that_come_only_while_working_cost_less(stand):
    """The same stops, but only while the hoist serves: W = 0.75 h by Pollaczek-Khinchine on the completion
    time.

    D. P. Gaver 1962, A waiting line with interrupted service, including priorities, Journal of the Royal
    Statistical Society B 24: 73-90 (from memory; E C = 0.1 h, E C^2 = 0.0866667 h^2 recomputed). Stops are
    extra work drawn for each service. 120,000 customers: standard error 5 % of W.
    """
    mean, square = 1 / 12 * (1 + 0.2), 2 / 144 * 1.2**2 + 1 / 12 * STOPS_H * 2 / REPAIR_H**2
    assert (mean, square) == pytest.approx((0.1, 0.0866667), abs=1e-7)
    stay_h = mean + 6 * square / (2 * (1 - 6 * mean))
    assert stay_h == pytest.approx(0.75, abs=1e-9)
    rng = chances("stops while working")
    n = 120_000
    service_h = rng.standard_exponential(n) / 12
    service_h += rng.standard_gamma(rng.poisson(service_h * STOPS_H)) / REPAIR_H
    trace = served(rng.standard_exponential(n) / 6, service_h)
    check = "hoist stopped only while it serves: mean stay [h]"
    stand(check, "Gaver 1962", expected=0.75, got=trace.mean_stay_h(), sees=0.3)
    assert_conserved(trace)


@pytest.mark.slow
def test_hoist_without_stops_serves_in_a_sixth_of_an_hour(stand):
    """W = 1 / (mu - lambda) = 0.166667 h. 40,000 customers: standard error 1.3 %."""
    rng = chances("no stops")
    trace = served(rng.standard_exponential(40_000) / 6, rng.standard_exponential(40_000) / 12)
    check = "hoist without stops: mean stay [h]"
    stand(check, "1 / (mu - lambda)", expected=0.166667, got=trace.mean_stay_h(), sees=0.08)


def test_a_small_queue_with_priorities_and_stops_is_possible():
    """The independent judge on 300 customers of two classes with two hoists."""
    rng = chances("small queue")
    steps = [
        Step(str(k), work=int(w), date=int(d), needs={"hoist": 1}, rank=int(r))
        for k, (w, d, r) in enumerate(
            zip(
                rng.integers(0, 90, 300),
                np.sort(rng.integers(0, 7000, 300)),
                rng.integers(0, 2, 300),
                strict=True,
            )
        )
    ]
    plan = Plan(steps, pools=[Pool("hoist", 2)])
    diary = run(plan)
    assert check(plan, drawn(plan), diary) == []
    assert (diary.started > diary.ready).sum() > 100


@pytest.mark.slow
def test_ciw_has_the_same_opinion_of_two_hoists_and_of_priorities():
    """Ciw (G. Palmer, V. Knight, P. Harper & A. Hawa 2019, Ciw: an open-source discrete event simulation
    library, Journal of Simulation 13: 68-82; from memory) on the same rates, its own random numbers: the two
    mean waits differ by less than 4 standard errors of their difference, 3 to 6 % each. Skipped where Ciw is
    not installed: it is a second opinion beside the closed forms above, not a need of the tests.
    """
    ciw = pytest.importorskip("ciw", reason="a second opinion beside the closed forms")
    network = ciw.create_network(
        arrival_distributions={
            "urgent": [ciw.dists.Exponential(8.0)],
            "other": [ciw.dists.Exponential(10.0)],
        },
        service_distributions={
            "urgent": [ciw.dists.Exponential(12.0)],
            "other": [ciw.dists.Uniform(0.05, 0.12)],
        },
        priority_classes={"urgent": 0, "other": 1},
        number_of_servers=[2],
    )
    ciw.seed(1917)
    simulation = ciw.Simulation(network)
    simulation.simulate_until_max_time(4000)
    records = sorted(simulation.get_all_records(), key=lambda r: r.arrival_date)
    rng = chances("against Ciw")
    n = len(records)
    urgent = rng.random(n) < 8 / 18
    service_h = np.where(urgent, rng.standard_exponential(n) / 12, rng.uniform(0.05, 0.12, n))
    trace = served(rng.standard_exponential(n) / 18, service_h, servers=2, rank=np.where(urgent, 0, 1))
    for word, members in (("urgent", urgent), ("other", ~urgent)):
        ours = batch_mean_of(trace.wait_h[members])
        theirs = batch_mean_of([r.waiting_time for r in records if r.customer_class == word])
        assert ours.agrees(theirs.value, sees=0.3, known_to=theirs.error)
