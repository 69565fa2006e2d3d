"""Lines of balance: the cascade of constant rates, uninterrupted crews, and which crew to add.

Oracle: closed forms, recomputed by the flow-shop recursion and by a brute-force maximum over the floors.
Sources: P. Lumsden 1968, The line-of-balance method; R. B. Harris & P. G. Ioannou 1998, Scheduling projects
with repeating activities, Journal of Construction Engineering and Management 124: 269-278 (both from memory).
"""

import heapq
from itertools import pairwise

import numpy as np
import pytest

from support.drawn import drawn
from support.feasibility import check
from towerpace import After, Plan, Pool, Step
from towerpace.engine.reference import run
from towerpace.plan.network import network

GOVERNED = (4, 6, 5, 3, 2)


def cascade(floors: int, days, *, buffer: int = 0, crews=None, starts=None) -> Plan:
    """Trades up the floors; `buffer` days between trades on a floor; `starts` days on which the trades come
    to site.
    """
    crews = (1,) * len(days) if crews is None else crews
    steps = [
        Step(
            f"trade {k} floor {i}",
            work=d,
            after=[After(f"trade {k - 1} floor {i}", buffer)] if k else [],
            needs={f"crew {k}": 1},
            rank=i,
            date=0 if starts is None else int(starts[k]),
        )
        for i in range(floors)
        for k, d in enumerate(days)
    ]
    return Plan(steps, pools=[Pool(f"crew {k}", n) for k, n in enumerate(crews)])


def stamps(plan: Plan, floors: int, trades: int) -> tuple[np.ndarray, np.ndarray]:
    """Starts and ends, (floors, trades)."""
    diary = run(plan)
    assert check(plan, drawn(plan), diary) == []
    names = [f"trade {k} floor {i}" for i in range(floors) for k in range(trades)]
    times = [[diary.started_at(n), diary.finished_at(n)] for n in names]
    both = np.array(times).reshape(floors, trades, 2)
    return both[..., 0], both[..., 1]


CASCADES = [
    (10, (2, 3, 4, 1), 0, 46),
    (60, (5, 3, 4, 6, 2), 0, 374),
    (40, (3, 3, 3, 3), 0, 129),
    (50, GOVERNED, 0, 314),
    (50, GOVERNED, 5, 334),
]


def test_cascade_takes_one_floor_of_every_trade_and_the_rest_of_the_slowest(stand):
    """T = sum t + (N - 1) max t + (m - 1) b; exact."""
    for floors, days, buffer, finish in CASCADES:
        assert finish == sum(days) + (floors - 1) * max(days) + (len(days) - 1) * buffer
    got = [run(cascade(floors, days, buffer=buffer)).finish for floors, days, buffer, _ in CASCADES]
    check = "lines of 10, 60, 40, 50 and 50 floors, the last with a buffer of 5 d: finish [d]"
    stand(check, "Lumsden 1968", expected=[row[-1] for row in CASCADES], got=got)


def uninterrupted(floors: int, days, *, buffer: int) -> list[int]:
    """Earliest starts of crews that never stop, each behind the one before on every floor, by brute force."""
    starts = [0]
    for before, own in pairwise(days):
        starts.append(max(starts[-1] + (i + 1) * before + buffer - i * own for i in range(floors)))
    return starts


@pytest.mark.parametrize(
    ("floors", "days", "buffer", "starts", "finish"),
    [
        (50, GOVERNED, 0, (0, 4, 59, 162, 214), 314),
        (50, GOVERNED, 5, (0, 9, 69, 177, 234), 334),
        (10, (2, 3, 4, 1), 0, (0, 2, 5, 36), 46),
        (10, (2, 3, 4, 1), 2, (0, 4, 9, 42), 52),
    ],
)
def test_crews_called_at_the_line_of_balance_dates_never_stop(floors, days, buffer, starts, finish, *, stand):
    """Continuity of crews is a decision of planning, not of dispatch: it is said by the dates of the trades.

    With the published starts as its date every crew works from its start without a gap; called one day
    earlier, a crew that follows a slower one has a gap, and the finish is no sooner.
    """
    assert tuple(uninterrupted(floors, days, buffer=buffer)) == starts
    start, end = stamps(cascade(floors, days, buffer=buffer, starts=starts), floors, len(days))
    assert start[0].tolist() == list(starts)
    assert np.array_equal(start[1:], end[:-1])
    assert end[-1].tolist() == [s + floors * d for s, d in zip(starts, days, strict=True)]
    said = ", ".join(map(str, starts))
    check = f"{floors} floors, buffer {buffer}, crews that never stop from days {said}: finish [d]"
    stand(check, "Harris & Ioannou 1998", expected=finish, got=float(end[-1, -1]))
    for k in range(1, len(days)):
        if days[k] < days[k - 1]:
            early = np.array(starts) - (np.arange(len(days)) == k)
            start, end = stamps(cascade(floors, days, buffer=buffer, starts=early), floors, len(days))
            assert np.any(start[1:, k] > end[:-1, k])
            assert end[-1, -1] == finish


@pytest.mark.parametrize(("buffer", "ends"), [(0, (200, 304, 309, 312, 314)), (5, (200, 309, 319, 327, 334))])
def test_whole_trades_tied_by_lags_end_when_the_line_of_balance_says(buffer, ends):
    """50 floors; each trade one step, slower ones tied at their first floor (SS), faster ones at their last
    (FF).

    Ends are published for b = 0, and follow from the published starts for b = 5.
    """
    steps = [Step("trade 0", work=50 * GOVERNED[0])]
    for k in range(1, 5):
        before, own = GOVERNED[k - 1 : k + 1]
        tie = (
            After(f"trade {k - 1}", before + buffer, "SS")
            if own > before
            else After(f"trade {k - 1}", own + buffer, "FF")
        )
        steps.append(Step(f"trade {k}", work=50 * own, after=[tie]))
    plan = Plan(steps)
    assert tuple(run(plan).finished_at(s.name) for s in steps) == ends
    assert network(plan).length == ends[-1]


def first_come_finish(floors: int, days, crews) -> int:
    """Recursion with several crews: each floor goes to the crew that is free first."""
    ready = [0] * floors
    for d, n in zip(days, crews, strict=True):
        free = [0] * n
        for i in range(floors):
            ready[i] = max(ready[i], heapq.heappop(free)) + d
            heapq.heappush(free, ready[i])
    return max(ready)


@pytest.mark.parametrize(
    ("words", "settings", "finishes"),
    [
        (
            "one crew more on each of five trades in turn",
            [(2, 1, 1, 1, 1), (1, 2, 1, 1, 1), (1, 1, 2, 1, 1), (1, 1, 1, 2, 1), (1, 1, 1, 1, 2)],
            [314, 265, 314, 314, 314],
        ),
        (
            "no crew more, one on trades 2 and 3, one on trades 2, 3 and 5",
            [(1, 1, 1, 1, 1), (1, 2, 2, 1, 1), (1, 2, 2, 1, 2)],
            [314, 216, 216],
        ),
    ],
)
def test_only_a_second_crew_on_the_governing_trade_helps(words, settings, finishes, stand):
    """50 floors, days 4 6 5 3 2 per floor: trade 2 governs, then trade 3. Exact."""
    assert [first_come_finish(50, GOVERNED, crews) for crews in settings] == finishes
    got = [float(stamps(cascade(50, GOVERNED, crews=crews), 50, 5)[1].max()) for crews in settings]
    check = f"{words}, 50 floors: finish [d]"
    stand(check, "Lumsden 1968; recursion", expected=finishes, got=got)
