"""Choosing: search, proof under fresh draws, neighbours, trade-off, and what would change the choice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from towerpace.answers.choose.decide import Decision, decide
from towerpace.answers.choose.goal import Goal, Sample
from towerpace.answers.choose.held import Held, held
from towerpace.answers.choose.open_setups import OpenSetUps
from towerpace.answers.choose.played import Played
from towerpace.answers.choose.search import Rules
from towerpace.answers.choose.space import Point
from towerpace.answers.choose.trade_off import OnCurve, curve, search_all
from towerpace.answers.choose.turning import Known, Turn, turns
from towerpace.answers.choose.visited import Visited
from towerpace.answers.cost import PARTS
from towerpace.answers.prepare import Prepared
from towerpace.scenario.setups import SetUp

SHARE_THAT_MATTERS = 0.01  # of the mean cost of the file, where nobody says what matters
SEARCH, PROOF, CURVE = "the search", "the proof of the choice", "the trade-off"


@dataclass(frozen=True)
class Asked:
    """What was asked.

    goal : None for the whole trade-off. matters_days, matters_cost : differences that matter; None leaves
    the cost to `SHARE_THAT_MATTERS`. most : trials of the search. fresh : of one set-up under fresh draws.
    """

    goal: Goal | None
    matters_days: float
    matters_cost: float | None
    sure: float
    seed: int
    most: int
    fresh: int


@dataclass
class ChoiceDetail:
    """What was found, as far as it got.

    ready : the file as it is. matters : of the objective, in its unit. decision : of a goal. chosen : the
    set-up of the choice. against_file : the choice beside the file. neighbours : one step from the choice,
    each beside it. curve : the trade-off. shown : the set-ups of it. turns : what would change the choice.
    cut_short : what Ctrl-C left undone, "" if nothing. spent : trials in all.
    """

    asked: Asked
    opened: OpenSetUps
    ready: Prepared
    visited: Visited
    matters: float = 0.0
    decision: Decision | None = None
    chosen: SetUp | None = None
    file: Sample | None = None
    against_file: Held | None = None
    neighbours: tuple[Held, ...] = ()
    curve: tuple[OnCurve, ...] = ()
    shown: tuple[SetUp, ...] = ()
    turns: list[Turn] = field(default_factory=list)
    cut_short: str = ""
    spent: int = 0

    @property
    def is_priced(self) -> bool:
        """Whether the scenario states costs."""
        return self.opened.scenario.settings.cost is not None

    @property
    def best(self) -> Point | None:
        """The choice; what is best so far where the search was cut short; None of a trade-off."""
        goal = self.asked.goal
        if self.decision is not None and self.decision.proof is not None:
            return self.decision.proof.point
        if goal is None or self.decision is not None or not self.visited.samples:
            return None
        return self.visited.best_first(goal)[0]


def choose(
    opened: OpenSetUps,
    ready: Prepared,
    asked: Asked,
    *,
    trials: Played,
    say: Callable[[str], None] = lambda _: None,
    on_best: Callable[[Point, Sample], None] = lambda *_: None,
) -> ChoiceDetail:
    """Find what is asked for and hold it against the file, its neighbours and the trade-off.

    Ctrl-C keeps what is known by then, and raises `KeyboardInterrupt` if that is nothing. Raises `InputError`
    for set-ups that cannot be run.
    """
    visited = Visited(trials, most=asked.most, on_best=on_best)
    detail = ChoiceDetail(asked, opened, ready, visited)
    doing = SEARCH
    try:
        say("the file as it is")
        visited.look_at([opened.space.standing])
        rules = _rules(detail)
        if asked.goal is None:
            search_all(opened.space, visited, rules=rules, say=say)
        else:
            detail.decision, _ = decide(
                opened.space, asked.goal, trials, rules=rules, visited=visited, most=asked.fresh, say=say
            )
        doing = PROOF
        _hold(detail, trials, say)
        doing = CURVE
        say("the trade-off under fresh draws")
        _draw_curve(detail, trials)
    except KeyboardInterrupt:
        if not visited.samples:
            raise
        detail.cut_short = doing
    detail.spent = trials.spent
    _name(detail)
    return detail


def _rules(detail: ChoiceDetail) -> Rules:
    asked = detail.asked
    detail.matters = asked.matters_days
    if asked.goal is None or asked.goal.is_cost:
        cost = detail.visited.samples[detail.opened.space.standing].mean_cost
        usual = SHARE_THAT_MATTERS * cost if np.isfinite(cost) else 1 / PARTS
        detail.matters = asked.matters_cost if asked.matters_cost is not None else max(usual, 1 / PARTS)
    return Rules(detail.matters, sure=asked.sure, seed=asked.seed, most=asked.most)


def _hold(detail: ChoiceDetail, trials: Played, say: Callable[[str], None]) -> None:
    """The choice beside the file, and its neighbours beside it, under fresh draws."""
    decision, asked = detail.decision, detail.asked
    say("the file under fresh draws")
    (detail.file,) = trials.results([detail.opened.space.standing], [asked.fresh], fresh=True)
    if decision is None or decision.proof is None:
        return
    proof, priced = decision.proof, detail.is_priced
    detail.against_file = held(
        proof.point, proof.sample, detail.file, goal=decision.goal, seed=asked.seed, is_priced=priced
    )
    near = set(detail.opened.space.neighbours(proof.point))
    rows = []
    for rival in proof.rivals:
        if rival.point in near:
            (sample,) = trials.results([rival.point], [rival.trials], fresh=True)
            rows.append(
                held(rival.point, sample, proof.sample, goal=decision.goal, seed=asked.seed, is_priced=priced)
            )
    detail.neighbours = tuple(rows)


def _draw_curve(detail: ChoiceDetail, trials: Played) -> None:
    """The trade-off of what was visited, and where the choice turns."""
    decision, asked = detail.decision, detail.asked
    if not detail.is_priced:
        return
    also = [detail.opened.space.standing]
    if decision is not None and decision.proof is not None:
        also = [decision.proof.point, *also]
    detail.curve = curve(detail.opened.space, detail.visited, trials, also, most=asked.fresh)
    if decision is None or decision.proof is None:
        return
    known = {one.point: Known(one.point, one.sample, _items(one.point, trials)) for one in detail.curve}
    for row in detail.neighbours:
        known.setdefault(row.point, Known(row.point, row.sample, _items(row.point, trials)))
    if decision.proof.point in known:
        detail.turns = turns(decision.goal, known[decision.proof.point], list(known.values()))


def _items(point: Point, trials: Played) -> dict[str, float]:
    sums, n = trials.items(point)
    return {name: amount / n / PARTS for name, amount in sums.items()} if n else {}


def _name(detail: ChoiceDetail) -> None:
    """The set-ups of the choice and of the trade-off, to be kept or cautioned about."""
    if detail.best is not None:
        detail.chosen = detail.opened.setup(detail.best)
    detail.shown = tuple(detail.opened.setup(one.point) for one in detail.curve)
