"""How chance decides the numbers of a plan: which spread, for which steps, under which purpose.

A purpose names a stream of random numbers; an item is a place in that stream (a panel, a truck, a front),
so that what happens to an item does not depend on who else is in the plan or in what order things run.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from towerpace.scenario.spreads import Spread

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Streams = Callable[[str], np.random.Generator]
HOUR_MIN, DAY_MIN = 60, 1440


@dataclass(frozen=True)
class Drawn:
    """The arrays that laws write into, (n,) over the compiled steps: minutes, earliest starts, left out."""

    work: Ints
    date: Ints
    skip: NDArray[np.bool_]


class Law(Protocol):
    """A rule of chance for some steps of a plan."""

    def apply(self, into: Drawn, streams: Streams) -> None:
        """Draw one trial: write into the arrays, taking numbers from the streams of its own purposes."""


@dataclass(frozen=True)
class Term:
    """One uncertain share of a duration, and the purpose it is drawn under. [min]"""

    spread: Spread
    purpose: str


@dataclass(frozen=True)
class WorkLaw:
    """Minutes of a group of steps: factor x pace x (fixed + the weighted sum of the terms), in whole minutes.

    steps : (k,) compiled step numbers. items : (k,) places in the streams of the terms.
    factor : (k,) units, difficulty and learning. [-]  fixed : (k,) certain minutes. [min]
    pace : name of the pace factor, or None.
    weights : (k, n_terms) how often each term counts; None if once. [-]
    """

    steps: Ints
    items: Ints
    factor: Floats
    fixed: Floats
    terms: tuple[Term, ...]
    pace: str | None = None
    weights: Floats | None = None

    def minutes(self, terms: Floats | float, *, pace: float) -> Ints:
        """Whole minutes; what takes any time takes at least one. [min]

        terms : (k,) sum of the terms, or one number for all.
        """
        exact = self.factor * pace * (self.fixed + terms)
        return np.where(exact > 0, np.maximum(np.rint(exact), 1), 0).astype(np.int64)

    def mean_minutes(self, *, pace: float) -> Ints:
        """Minutes if every term takes its mean, (k,). [min]"""
        if self.weights is None:
            return self.minutes(sum(term.spread.mean() for term in self.terms), pace=pace)
        return self.minutes(self.weights @ np.array([term.spread.mean() for term in self.terms]), pace=pace)


@dataclass(frozen=True)
class PaceLaw:
    """One factor per trade and trial, joined by a Gaussian copula.

    spreads : trade -> spread. [-]
    root : (n_trades, n_trades) lower triangle whose product with its transpose is the correlation of the
        normal scores, in the order of `spreads`.
    """

    spreads: dict[str, Spread]
    root: Floats

    def factors(self, streams: Streams) -> dict[str, float]:
        """Pace factor of every trade in one trial. [-]"""
        from scipy.special import ndtr

        scores = np.array([streams(f"pace of {name}").standard_normal() for name in self.spreads])
        chances = ndtr(self.root @ scores)
        return {
            name: float(spread.quantile(chances[k : k + 1])[0])
            for k, (name, spread) in enumerate(self.spreads.items())
        }


@dataclass(frozen=True)
class Durations:
    """Minutes of all steps that take uncertain time, and the pace of the trades."""

    work: tuple[WorkLaw, ...]
    pace: PaceLaw

    @cached_property
    def _lengths(self) -> dict[str, int]:
        """Places needed in the stream of each purpose."""
        lengths: dict[str, int] = {}
        for law in self.work:
            for term in law.terms:
                lengths[term.purpose] = max(lengths.get(term.purpose, 0), int(law.items.max(initial=0)) + 1)
        return lengths

    def apply(self, into: Drawn, streams: Streams) -> None:
        """Draw the minutes of every step it covers."""
        chances = {purpose: streams(purpose).random(n) for purpose, n in self._lengths.items()}
        pace = self.pace.factors(streams)
        for law in self.work:
            drawn = [term.spread.quantile(chances[term.purpose][law.items]) for term in law.terms]
            if law.weights is not None:
                drawn = [weight * minutes for weight, minutes in zip(law.weights.T, drawn, strict=True)]
            terms = np.sum(drawn, axis=0) if drawn else 0.0
            into.work[law.steps] = law.minutes(terms, pace=pace[law.pace] if law.pace else 1.0)


@dataclass(frozen=True)
class HandoverLaw:
    """Dates of the levels: planned minute plus the slips of this level and of all below it.

    steps, planned : (n_levels,) from the lowest up. [min]  slip_days : spread per level. [d]
    A level is never handed over before the one below it, nor before the start.
    """

    steps: Ints
    planned: Ints
    slip_days: Spread

    def apply(self, into: Drawn, streams: Streams) -> None:
        """Draw the handover of every level."""
        slips = self.slip_days.quantile(streams("structure").random(len(self.steps)))
        late = self.planned + np.rint(np.cumsum(slips) * DAY_MIN).astype(np.int64)
        into.date[self.steps] = np.maximum(np.maximum.accumulate(late), 0)
