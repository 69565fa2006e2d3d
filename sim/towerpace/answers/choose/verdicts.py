"""What can be said of a set-up one step from the choice, in a few words."""

from __future__ import annotations

from towerpace.answers.choice.paired import Difference
from towerpace.answers.choose.choice import ChoiceDetail
from towerpace.answers.choose.held import Held
from towerpace.answers.choose.proof import BETTER, LACKING, NARROW, OPEN

SAME, UNTOLD = "makes no difference", "not told apart"
STATES = {  # of a rival, where a date is to be met and where a budget is to be kept
    LACKING: ("misses the date", "over the budget"),
    NARROW: ("meets the date narrowly at best", "in the budget narrowly at best"),
    BETTER: ("better", "better"),
    OPEN: (UNTOLD, UNTOLD),
}


def said_of(row: Held, detail: ChoiceDetail) -> str:
    """The verdict on a neighbour."""
    proof = None if detail.decision is None else detail.decision.proof
    rival = next((r for r in proof.rivals if r.point == row.point), None) if proof is not None else None
    if _is_nothing(row.days) and (row.money is None or _is_nothing(row.money)):
        return SAME
    goal = detail.asked.goal
    by_cost = goal is not None and goal.is_cost
    if rival is not None and rival.state in STATES:
        return STATES[rival.state][0 if by_cost else 1]
    own = row.money if by_cost else row.p80_days
    if own is not None and own.low > 0:
        return "costs more" if by_cost else "finishes later"
    return "no better by what matters"


def matters_little(detail: ChoiceDetail) -> list[str]:
    """Decisions of which no step changes days or cost by what matters."""
    asked, best = detail.asked, detail.best
    least: dict[str, bool] = {}
    for row in detail.neighbours:
        for one, place, own in zip(detail.opened.decided, row.point, best or row.point, strict=True):
            if place != own:
                money = asked.matters_cost if asked.matters_cost is not None else _money(detail)
                small = _within(row.days, asked.matters_days) and _within(row.money, money)
                least[one.name] = least.get(one.name, True) and small
    return [name for name, small in least.items() if small]


def _money(detail: ChoiceDetail) -> float:
    goal = detail.asked.goal
    return detail.matters if goal is not None and goal.is_cost else float("inf")


def _within(difference: Difference | None, matters: float) -> bool:
    return difference is not None and max(-difference.low, difference.high) < matters


def _is_nothing(difference: Difference | None) -> bool:
    return difference is not None and difference.sd == 0 and difference.mean == 0
