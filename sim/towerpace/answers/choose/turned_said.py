"""What would change the choice, as people read it."""

from __future__ import annotations

from towerpace.answers.choose.choice import ChoiceDetail
from towerpace.answers.choose.turning import BUDGET, CONFIDENCE, DATE, Turn
from towerpace.answers.days import Days
from towerpace.answers.said.people import day, number, share
from towerpace.answers.said.tables import Row


def turn_row(turn: Turn, detail: ChoiceDetail) -> Row:
    """A row of the table of turns: what, now, where it turns, to what, and the factor of a price."""
    to = None if turn.to is None else detail.opened.name(turn.to)
    if turn.is_price:
        where = "above" if turn.is_up else "below"
        return f"price of {turn.what}", "1", f"{where} {turn.at:.2f} times", to, turn.at
    return turn.what, _now(turn, detail), _where(turn, detail), to, None


def _now(turn: Turn, detail: ChoiceDetail) -> str:
    goal = detail.asked.goal
    assert goal is not None, "a trade-off has no choice that could turn"
    if turn.what == DATE and goal.due is not None:
        return day(Days(detail.opened.scenario.settings).date_of(goal.due))
    if turn.what == CONFIDENCE:
        return share(goal.confidence)
    assert turn.what == BUDGET and goal.budget is not None, "no other turns"  # noqa: PT018  one fact
    return number(goal.budget, digits=0)


def _where(turn: Turn, detail: ChoiceDetail) -> str:
    if turn.what == DATE:
        at = day(Days(detail.opened.scenario.settings).date_of(int(turn.at)))
        return f"from {at}" if turn.is_up else f"before {at}"
    at = share(turn.at) if turn.what == CONFIDENCE else number(turn.at, digits=0)
    return f"{'above' if turn.is_up else 'below'} {at}"
