"""Trades that follow one another through the floors are a permutation flow shop.

Sources: S. M. Johnson 1954, Optimal two- and three-stage production schedules with setup times included,
Naval Research Logistics Quarterly 1: 61-68; J. Carlier 1978, Ordonnancements a contraintes disjonctives,
R.A.I.R.O. Recherche operationnelle 12: 333-351 (instances car1, car2 and car5 from memory, confirmed by the
makespans of three orders each that another program found on stored copies of the data); E. Taillard 1993,
Benchmarks for basic scheduling problems, European Journal of Operational Research 64: 278-285 (seeds, first
row, bounds from memory; seed, first row and bounds of the first instance also read in public copies of the
file; instances regenerated here). Oracle of every single run: C[i, k] = max(C[i-1, k], C[i, k-1]) + p[i, k].
"""

from itertools import permutations

import numpy as np
import pytest

from support.drawn import drawn
from support.feasibility import check
from towerpace import Plan, Pool, Step
from towerpace.draws import stream
from towerpace.engine.reference import run

JOHNSON = [(3, 6), (5, 2), (1, 2), (6, 6), (7, 5)]
CAR1 = """375 12 142 245 412  632 452 758 278 398  12 876 124 534 765  460 542 523 120 499
          528 101 789 124 999  796 245 632 375 123  532 230 543 896 452  14 124 214 543 785
          257 527 753 210 463  896 896 214 258 259  532 302 501 765 988"""
CAR2 = """654 147 345 447  321 520 789 702  12 147 630 255  345 586 214 866  678 532 275 332
          963 145 302 225  25 24 142 589  874 517 24 996  114 896 520 541  785 543 336 234
          203 210 699 784  696 784 855 512  302 512 221 345"""
CAR5 = """333 991 996 123 145 234  333 111 663 456 785 532  252 222 222 789 214 586
          222 204 114 876 752 532  255 477 123 543 143 142  555 566 456 210 698 573
          558 899 789 124 532 12  888 965 876 537 145 14  889 588 543 854 247 527
          999 889 210 632 451 856"""
CARLIER = {
    "car1": (CAR1, 5, 9298, 8979, 7038),
    "car2": (CAR2, 4, 8665, 9307, 7376),
    "car5": (CAR5, 6, 9311, 10310, 7835),
}

# Seed, best known makespan and lower bound (from memory; those of the first instance were also read),
# and an order of jobs 1..20, found by a local search of our own, that reaches the makespan.
TAILLARD_20X5 = [
    (873654221, 1278, 1232, "3 17 15 6 14 9 8 19 1 5 18 7 16 4 11 2 13 10 20 12"),
    (379008056, 1359, 1290, "6 10 17 7 19 15 9 3 1 11 12 18 2 16 20 4 8 13 5 14"),
    (1866992158, 1081, 1073, "3 4 16 11 1 20 19 14 18 7 13 12 10 5 17 9 6 8 15 2"),
    (216771124, 1293, 1268, "13 17 19 9 16 11 7 1 12 15 10 5 20 2 4 8 6 14 3 18"),
    (495070989, 1235, 1198, "5 12 3 19 9 10 4 6 17 16 2 15 13 11 14 7 18 1 20 8"),
    (402959317, 1195, 1180, "11 14 13 6 16 18 12 9 1 17 7 19 4 15 20 10 8 2 5 3"),
    (1369363414, 1234, 1226, "10 2 13 1 19 17 16 20 15 3 11 4 5 14 6 8 12 9 7 18"),
    (2021925980, 1206, 1170, "17 2 16 9 5 14 19 12 4 10 20 18 7 13 8 15 6 1 3 11"),
    (573109518, 1230, 1206, "4 12 10 2 8 1 20 18 16 3 6 11 15 17 7 13 19 14 9 5"),
    (88325120, 1108, 1082, "11 7 5 16 12 6 18 2 10 20 13 1 14 8 19 3 15 17 4 9"),
]


def flow_of_trades(works, order) -> Plan:
    """Jobs (floors) through machines (trades of one crew); the order is nothing but the rank."""
    rank = {job: place for place, job in enumerate(order)}
    machines = len(works[0])
    steps = [
        Step(
            f"job {j} machine {k}",
            work=int(works[j][k]),
            after=[f"job {j} machine {k - 1}"] if k else [],
            needs={f"machine {k}": 1},
            rank=rank[j],
        )
        for j in range(len(works))
        for k in range(machines)
    ]
    return Plan(steps, pools=[Pool(f"machine {k}", 1) for k in range(machines)])


def simulated(works, order) -> int:
    plan = flow_of_trades(works, order)
    diary = run(plan)
    assert check(plan, drawn(plan), diary) == []
    return diary.finish


def recursion(works, order) -> int:
    done = [0] * len(works[0])
    for j in order:
        for k, minutes in enumerate(works[j]):
            done[k] = max(done[k], done[k - 1] if k else 0) + int(minutes)
    return done[-1]


def taillard(seed: int, jobs: int = 20, machines: int = 5) -> list[list[int]]:
    """Works, job by job, by Lehmer's generator with a = 16807 and m = 2^31 - 1, as Taillard gives it."""
    rows = []
    for _ in range(machines):
        row = []
        for _ in range(jobs):
            seed = 16807 * seed % (2**31 - 1)
            row.append(1 + int(seed / (2**31 - 1) * 99))
        rows.append(row)
    return [list(column) for column in zip(*rows, strict=True)]


def machine_bound(works) -> int:
    """Taillard's lower bound: a machine's whole work, with the least before it and the least after it."""
    machines, bounds = len(works[0]), [sum(job) for job in works]
    for k in range(machines):
        head = min(sum(job[:k]) for job in works)
        tail = min(sum(job[k + 1 :]) for job in works)
        bounds.append(head + sum(job[k] for job in works) + tail)
    return max(bounds)


def neh(works) -> list[int]:
    """Insertion heuristic of M. Nawaz, E. Enscore & I. Ham 1983, Omega 11: 91-95 (from memory)."""
    order: list[int] = []
    for j in sorted(range(len(works)), key=lambda j: -sum(works[j])):
        order = min(
            ([*order[:i], j, *order[i:]] for i in range(len(order) + 1)), key=lambda o: recursion(works, o)
        )
    return order


def test_johnson_order_is_the_best_of_all_120(stand):
    """Order 3-1-4-5-2, makespan 24 (a textbook instance of Johnson's rule, recomputed by enumeration)."""
    makespans = {order: simulated(JOHNSON, order) for order in permutations(range(5))}
    assert all(makespan == recursion(JOHNSON, order) for order, makespan in makespans.items())
    best = min(makespans, key=lambda order: (makespans[order], order != (2, 0, 3, 4, 1)))
    words = "-".join(str(job + 1) for job in best)
    got = (words, makespans[best])
    stand("best of 120 orders of five jobs", "Johnson 1954, enumeration", expected=("3-1-4-5-2", 24), got=got)
    assert max(makespans.values()) > 24


@pytest.mark.parametrize("name", CARLIER)
def test_carlier_instances_have_the_published_makespans(name, stand):
    """Identity order, reverse order and the insertion heuristic, whose makespan on car1 is the known optimum
    7038.
    """
    text, machines, identity, reverse, heuristic = CARLIER[name]
    works = np.array(text.split(), dtype=int).reshape(-1, machines).tolist()
    jobs = range(len(works))
    got = [simulated(works, order) for order in (jobs, jobs[::-1], neh(works))]
    check = f"{name} in order, in reverse, by insertion"
    stand(check, "Carlier 1978; another program", expected=(identity, reverse, heuristic), got=got)
    assert heuristic >= machine_bound(works)


def test_taillard_generator_gives_the_published_first_row(stand):
    """First machine of the first instance (read in public copies of the file)."""
    row = "54 83 15 71 77 36 53 38 27 87 76 91 14 29 12 77 32 87 68 94"
    got = " ".join(str(job[0]) for job in taillard(873654221))
    stand("first machine of the first instance regenerated", "Taillard 1993, file", expected=row, got=got)


def test_taillard_instances_reach_their_published_bounds(stand):
    """The lower bound recomputed equals the published one; a stored order reaches the best known makespan."""
    lowers, uppers = [], []
    for seed, upper, lower, order in TAILLARD_20X5:
        works = taillard(seed)
        best = [int(j) - 1 for j in order.split()]
        assert sorted(best) == list(range(20))
        lowers.append(machine_bound(works))
        uppers.append(simulated(works, best))
        assert uppers[-1] == recursion(works, best) >= lower
        assert uppers[-1] == upper
    for word, got, column in (("best known makespans", uppers, 1), ("lower bounds", lowers, 2)):
        expected = [row[column] for row in TAILLARD_20X5]
        stand(f"ten instances of 20 floors and 5 trades: {word}", "Taillard 1993", expected=expected, got=got)


@pytest.mark.parametrize("seed", [row[0] for row in TAILLARD_20X5[:3]])
def test_any_order_runs_as_the_recursion_says(seed):
    """30 random orders of each instance, exact, none below the best known makespan."""
    works = taillard(seed)
    upper = next(row[1] for row in TAILLARD_20X5 if row[0] == seed)
    rng = stream(1993, seed, "orders")
    for _ in range(30):
        order = rng.permutation(20).tolist()
        assert simulated(works, order) == recursion(works, order) >= upper
