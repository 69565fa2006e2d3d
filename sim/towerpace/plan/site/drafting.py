"""The plan while it is being written: steps, pools and windows, and how chance decides their minutes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from towerpace.plan.laws import Law, Term, WorkLaw
from towerpace.plan.parts import Pool, Step
from towerpace.plan.site.closures import Closures

LawMaker = Callable[[dict[str, int]], Law]  # a law, once the numbers of the steps are known


@dataclass(frozen=True, slots=True)
class Chance:
    """How the minutes of one step are drawn: factor x pace x (fixed + terms at this item).

    weights : how often each term counts; empty if each counts once. [-]
    """

    item: int = 0
    factor: float = 1.0
    fixed: float = 0.0
    terms: tuple[Term, ...] = ()
    pace: str | None = None
    weights: tuple[float, ...] = ()


@dataclass
class Draft:
    """Steps and pools collected so far, and laws of chance beside the durations.

    panels : for each panel the step that sets it, and the step that sets it instead if it was lost, if any.
    owner : trade whose items are drawn from streams of their own; empty where purposes need no owner.
    """

    closures: Closures
    pace_means: dict[str, float]
    steps: list[Step] = field(default_factory=list)
    pools: list[Pool] = field(default_factory=list)
    chances: dict[str, Chance] = field(default_factory=dict)
    laws: list[LawMaker] = field(default_factory=list)
    panels: list[tuple[str, str | None]] = field(default_factory=list)
    owner: str = ""

    def owned_by(self, trade: str) -> Draft:
        """The same draft, written by a trade whose items are drawn from streams of their own."""
        return replace(self, owner=trade)  # The lists are the same ones: what either writes is in both.

    def expected(self, chance: Chance) -> int:
        """Whole minutes a step takes if everything takes its mean. [min]"""
        pace = self.pace_means[chance.pace] if chance.pace else 1.0
        return int(_law([0], [chance]).mean_minutes(pace=pace)[0])

    def add(self, step: Step, *, chance: Chance | None = None) -> str:
        """Put a step into the plan; its name."""
        self.steps.append(step)
        if chance is not None:
            self.chances[step.name] = self._own(chance) if self.owner else chance
        return step.name

    def _own(self, chance: Chance) -> Chance:
        return replace(chance, terms=tuple(replace(term, owner=self.owner) for term in chance.terms))

    def work_laws(self, index: dict[str, int]) -> tuple[WorkLaw, ...]:
        """Steps that are drawn alike, gathered."""
        alike: dict[tuple[tuple[Term, ...], str | None, bool], list[str]] = {}
        for name, chance in self.chances.items():
            alike.setdefault((chance.terms, chance.pace, bool(chance.weights)), []).append(name)
        return tuple(
            _law([index[name] for name in names], [self.chances[name] for name in names])
            for names in alike.values()
        )


def _law(steps: Sequence[int], chances: Sequence[Chance]) -> WorkLaw:
    return WorkLaw(
        steps=np.array(steps, dtype=np.int64),
        items=np.array([c.item for c in chances], dtype=np.int64),
        factor=np.array([c.factor for c in chances]),
        fixed=np.array([c.fixed for c in chances]),
        terms=chances[0].terms,
        pace=chances[0].pace,
        weights=np.array([c.weights for c in chances]) if chances[0].weights else None,
    )
