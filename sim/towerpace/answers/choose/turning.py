"""What would change the choice: the date, the confidence, the budget or the price where another is better."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from towerpace.answers.choose.goal import Goal, Sample
from towerpace.answers.choose.space import Point

MOST_FACTOR = 3.0  # prices further off are of no interest
DATE, CONFIDENCE, BUDGET = "date", "confidence", "budget"


@dataclass(frozen=True)
class Known:
    """A set-up as far as it matters here.

    items : mean cost of a trial by item, in the unit of the scenario; empty without costs.
    """

    point: Point
    sample: Sample
    items: Mapping[str, float]


@dataclass(frozen=True)
class Turn:
    """Where another set-up takes over.

    what : date, confidence, budget, or an item of the cost. at : minute, share, money, or times its price.
    to : what is chosen beyond it; None where nothing known does. is_up : whether beyond lies above.
    """

    what: str
    at: float
    to: Point | None
    is_up: bool
    is_price: bool = False


def turns(goal: Goal, chosen: Known, others: Sequence[Known]) -> list[Turn]:
    """Every turn that the set-ups known give, those of the question first.

    chosen : the choice. others : set-ups to take over, by trials of the same draws.
    """
    rivals = [other for other in others if other.point != chosen.point]
    if goal.due is not None:
        asked = [*_dates(goal, chosen, rivals), *_confidences(goal, chosen, rivals)]
    else:
        asked = list(_budgets(goal, chosen, rivals))
    return [*asked, *_prices(goal, chosen, rivals)]


def _dates(goal: Goal, chosen: Known, rivals: Sequence[Known]) -> Iterator[Turn]:
    """The earliest date that the choice keeps with the confidence, and that from which a cheaper one does."""
    own = chosen.sample.quantile_min(goal.confidence)
    earlier = [r for r in rivals if r.sample.quantile_min(goal.confidence) < own]
    yield Turn(DATE, own, _point(_cheapest(earlier)), is_up=False)
    cheaper = [r for r in rivals if r.sample.mean_cost < chosen.sample.mean_cost]
    soonest = min(cheaper, key=lambda r: r.sample.quantile_min(goal.confidence), default=None)
    if soonest is not None and np.isfinite(soonest.sample.quantile_min(goal.confidence)):
        yield Turn(DATE, soonest.sample.quantile_min(goal.confidence), soonest.point, is_up=True)


def _confidences(goal: Goal, chosen: Known, rivals: Sequence[Known]) -> Iterator[Turn]:
    """The confidence up to which the choice does, and that down to which a cheaper one does not."""
    assert goal.due is not None, "asked for a date alone"
    met = {r.point: _met(r.sample, goal.due) for r in (chosen, *rivals)}
    surer = [r for r in rivals if met[r.point] > met[chosen.point]]
    if met[chosen.point] < 1:
        yield Turn(CONFIDENCE, met[chosen.point], _point(_cheapest(surer)), is_up=True)
    cheaper = [r for r in rivals if r.sample.mean_cost < chosen.sample.mean_cost]
    surest = max(cheaper, key=lambda r: met[r.point], default=None)
    if surest is not None and met[surest.point] > 0:
        yield Turn(CONFIDENCE, met[surest.point], surest.point, is_up=False)


def _met(sample: Sample, due: int) -> float:
    return float(np.mean(sample.finish <= due))


def _budgets(goal: Goal, chosen: Known, rivals: Sequence[Known]) -> Iterator[Turn]:
    """The mean cost of the choice, below which another is the earliest, and that of an earlier one."""
    if goal.budget is None:
        return
    own = goal.objective(chosen.sample)
    cheaper = [r for r in rivals if r.sample.mean_cost < chosen.sample.mean_cost]
    second = min(cheaper, key=lambda r: goal.objective(r.sample), default=None)
    yield Turn(BUDGET, chosen.sample.mean_cost, _point(second), is_up=False)
    earlier = [r for r in rivals if goal.objective(r.sample) < own]
    first = _cheapest(earlier)
    if first is not None and np.isfinite(first.sample.mean_cost):
        yield Turn(BUDGET, first.sample.mean_cost, first.point, is_up=True)


def _prices(goal: Goal, chosen: Known, rivals: Sequence[Known]) -> Iterator[Turn]:
    """Of every price the factor nearest to 1, on either side, at which a set-up that does costs no more."""
    doing = [r for r in rivals if goal.margin(r.sample) >= 0 and np.isfinite(r.sample.mean_cost)]
    for item in chosen.items:
        for is_up in (False, True):
            turn = _price(goal, chosen, doing, item=item, is_up=is_up)
            if turn is not None:
                yield turn


def _price(goal: Goal, chosen: Known, doing: Sequence[Known], *, item: str, is_up: bool) -> Turn | None:
    """The nearest factor of one price at which the choice turns, on one side."""
    factors: dict[Point | None, float | None]
    if goal.is_cost:
        factors = {r.point: _even(chosen, r, item) for r in doing}
    elif goal.budget is not None and chosen.items[item] > 0:
        left = goal.budget - chosen.sample.mean_cost
        factors = {None: 1 + left / chosen.items[item]}
    else:
        return None
    inside: Callable[[float], bool] = (lambda f: 1 < f <= MOST_FACTOR) if is_up else (lambda f: 0 <= f < 1)
    known = [(abs(f - 1), f, to) for to, f in factors.items() if f is not None and inside(f)]
    if not known:
        return None
    _, factor, to = min(known, key=lambda one: one[0])
    return Turn(item, factor, to, is_up, is_price=True)


def _even(chosen: Known, other: Known, item: str) -> float | None:
    """The factor of one price at which two set-ups cost the same; None where it does not part them.

    cost + (factor - 1) item is linear in the factor.
    """
    apart = chosen.items.get(item, 0.0) - other.items.get(item, 0.0)
    dearer = other.sample.mean_cost - chosen.sample.mean_cost
    if dearer <= 0 or abs(apart) < 1e-9:
        return None
    return 1 + dearer / apart


def _cheapest(others: Sequence[Known]) -> Known | None:
    return min(others, key=lambda other: other.sample.mean_cost, default=None)


def _point(known: Known | None) -> Point | None:
    return None if known is None else known.point
