"""How the minutes of a group of steps are made up: what is certain, what is drawn, and times what."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.plan.chance import MINUTES, stream_name
from towerpace.scenario.spreads import Spread
from towerpace.units import Floats, Ints


@dataclass(frozen=True)
class Term:
    """One uncertain share of a duration, and the purpose it is drawn under. [min]

    owner : trade whose items have a stream of their own for this purpose; empty where there is one for all.
    """

    spread: Spread
    purpose: str
    owner: str = ""

    @property
    def stream(self) -> str:
        """Name of the stream it is drawn from."""
        return stream_name(self.purpose, owner=self.owner)


@dataclass(frozen=True)
class WorkLaw:
    """Minutes of a group of steps: factor x pace x (fixed + the weighted sum of the terms), in whole minutes.

    steps : (k,) compiled step numbers. items : (k,) places in the streams of the terms.
    factor : (k,) units, difficulty and learning. [-]  fixed : (k,) certain minutes. [min]
    pace : name of the pace factor, or None.
    weights : (k, n_terms) how often each term counts; None if once. [-]
    source : of spread that the minutes are put down to.
    """

    steps: Ints
    items: Ints
    factor: Floats
    fixed: Floats
    terms: tuple[Term, ...]
    pace: str | None = None
    weights: Floats | None = None
    source: str = MINUTES

    def minutes(self, terms: Floats | float, *, pace: Floats | float) -> Ints:
        """Whole minutes; what takes any time takes at least one. [min]

        terms : (k,) sum of the terms, or one number for all. pace : the same of the pace factor. [-]
        """
        exact = self.factor * pace * (self.fixed + terms)
        return np.maximum(np.rint(exact), exact > 0).astype(np.int64)

    def mean_minutes(self, *, pace: float) -> Ints:
        """Minutes if every term takes its mean, (k,). [min]"""
        if self.weights is None:
            return self.minutes(sum(term.spread.mean() for term in self.terms), pace=pace)
        return self.minutes(self.weights @ np.array([term.spread.mean() for term in self.terms]), pace=pace)

    @property
    def certain(self) -> bool:
        """Whether no term of it is drawn."""
        return all(term.spread.kind == "constant" for term in self.terms)

    def weight(self, term: int) -> Floats:
        """How often a term counts, (k,). [-]"""
        return np.ones(len(self.items)) if self.weights is None else self.weights[:, term]
