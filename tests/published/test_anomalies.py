"""Graham's anomalies, reproduced and not mended.

Source: R. L. Graham 1969, Bounds on multiprocessing timing anomalies, SIAM Journal on Applied Mathematics 17:
416-429 (the example read in a document; every value recomputed by an independent simulation). Nine tasks,
identical crews; any ready task may start, in the order of a list. More crews, shorter tasks, fewer
predecessors or another list can each make the job longer: so nobody may demand that more is never slower.
"""

import pytest

from support.drawn import drawn
from support.feasibility import check
from towerpace import Plan, Pool, Step
from towerpace.engine.reference import run

WORK = (3, 2, 2, 2, 4, 4, 4, 4, 9)
AFTER = {9: [1], 5: [4], 6: [4], 7: [4], 8: [4]}


def finish(*, crews: int = 3, order=range(1, 10), work=WORK, after=AFTER) -> int:
    rank = {task: place for place, task in enumerate(order)}
    steps = [
        Step(
            f"T{t}",
            work=work[t - 1],
            after=[f"T{p}" for p in after.get(t, [])],
            needs={"crew": 1},
            rank=rank[t],
        )
        for t in range(1, 10)
    ]
    plan = Plan(steps, pools=[Pool("crew", crews)])
    diary = run(plan)
    assert check(plan, drawn(plan), diary) == []
    return diary.finish


def test_three_crews_in_list_order_take_twelve(stand):
    stand("nine tasks, three crews", "Graham 1969", expected=12, got=finish())


@pytest.mark.parametrize(
    ("what", "change", "longer"),
    [
        ("a fourth crew", {"crews": 4}, 15),
        ("another list", {"order": (1, 2, 4, 5, 6, 3, 9, 7, 8)}, 14),
        ("every task one shorter", {"work": tuple(d - 1 for d in WORK)}, 13),
        ("two predecessors fewer", {"after": {9: [1], 7: [4], 8: [4]}}, 16),
    ],
)
def test_what_should_help_makes_it_longer(what, change, longer, stand):
    """The paired difference keeps its sign: +3, +2, +1 and +4."""
    stand(f"nine tasks, three crews, {what}", "Graham 1969", expected=longer, got=finish(**change))
    assert longer - finish() > 0


def test_no_anomaly_passes_the_bound():
    """Graham's bound on the ratio of schedules of m' and m crews: 1 + (m - 1)/m' (same paper, Theorem 1)."""
    for crews in range(1, 8):
        assert finish(crews=crews) / finish() <= 1 + (3 - 1) / crews
