"""A classic job shop as six floors and six trades of one crew each.

Source: H. Fisher & G. L. Thompson 1963, Probabilistic learning combinations of local job-shop scheduling
rules, in Industrial Scheduling, problem of 6 jobs (ft06; from memory, the optimum 55 read in a document and
recomputed by constraint programming). Makespans of the dispatch rules were recomputed by an independent
implementation.
"""

from support.drawn import drawn
from support.feasibility import check
from support.instances import Instance
from towerpace.engine.reference import run
from towerpace.plan.network import network

ROWS = (
    "2 1,0 3,1 6,3 7,5 3,4 6",
    "1 8,2 5,4 10,5 10,0 10,3 4",
    "2 5,3 4,5 8,0 9,1 1,4 7",
    "1 5,0 5,2 5,3 3,4 8,5 9",
    "2 9,1 3,4 5,5 4,0 3,3 1",
    "1 3,3 3,5 9,0 10,4 4,2 1",
)
OPTIMUM = 55


def shop() -> Instance:
    """Operations numbered row by row; each machine is a resource of one unit."""
    operations = [tuple(int(x) for x in cell.split()) for row in ROWS for cell in row.split(",")]
    return Instance(
        work=tuple(minutes for _, minutes in operations),
        after=tuple((k - 1,) if k % 6 else () for k in range(36)),
        needs=tuple(tuple(int(m == machine) for m in range(6)) for machine, _ in operations),
        capacity=(1,) * 6,
    )


def test_bounds_are_those_published(stand):
    """Longest job 47, most loaded machine 43."""
    got = network(shop().without_pools()).length, shop().energy_bound()
    stand("ft06: longest job, most loaded machine", "Fisher & Thompson 1963", expected=(47, 43), got=got)


def test_dispatch_rules_have_the_recomputed_makespans(stand):
    """Exact, and never below the optimum."""
    makespans = {"LFT": 60, "MTS": 59, "LST": 61, "FIFO": 68, "SPT": 88}
    got = []
    for rule in makespans:
        plan = shop().plan(rule)
        diary = run(plan)
        assert check(plan, drawn(plan), diary) == []
        got.append(diary.finish)
    assert min(got) >= OPTIMUM
    words = f"ft06 by rules {', '.join(makespans)}"
    stand(words, "independent implementation", expected=list(makespans.values()), got=got)
