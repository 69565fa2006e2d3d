"""How chance decides the numbers of a plan: which spread, for which steps, under which purpose.

A purpose names a stream of random numbers; an item is a place in that stream (a panel, a truck, a front),
so that what happens to an item does not depend on who else is in the plan or in what order things run.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from towerpace.scenario.spreads import Spread

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Term:
    """One uncertain share of a duration, and the purpose it is drawn under. [min]"""

    spread: Spread
    purpose: str


@dataclass(frozen=True)
class WorkLaw:
    """Minutes of a group of steps: factor x pace x (fixed + the sum of the terms), in whole minutes.

    steps : (k,) compiled step numbers. items : (k,) places in the streams of the terms.
    factor : (k,) units, difficulty and learning. [-]  fixed : (k,) certain minutes. [min]
    pace : name of the pace factor, or None.
    """

    steps: Ints
    items: Ints
    factor: Floats
    fixed: Floats
    terms: tuple[Term, ...]
    pace: str | None = None

    def minutes(self, terms: Floats | float, *, pace: float) -> Ints:
        """Whole minutes; what takes any time takes at least one. [min]

        terms : (k,) sum of the terms, or one number for all.
        """
        exact = self.factor * pace * (self.fixed + terms)
        return np.where(exact > 0, np.maximum(np.rint(exact), 1), 0).astype(np.int64)

    def mean_minutes(self, *, pace: float) -> Ints:
        """Minutes if every term takes its mean, (k,). [min]"""
        return self.minutes(sum(term.spread.mean() for term in self.terms), pace=pace)


@dataclass(frozen=True)
class HandoverLaw:
    """Dates of the levels: planned minute plus the slips of this level and of all below it.

    steps, planned : (n_levels,) from the lowest up. [min]  slip_days : spread per level. [d]
    A level is never handed over before the one below it, nor before the start.
    """

    steps: Ints
    planned: Ints
    slip_days: Spread


@dataclass(frozen=True)
class TruckLaw:
    """Dates of trucks: planned minute, plus hours late for a truck that is late at all.

    steps, items, planned : (k,). [min]  chance : of being late. [-]  late_h : spread. [h]
    """

    steps: Ints
    items: Ints
    planned: Ints
    chance: float
    late_h: Spread


@dataclass(frozen=True)
class PaceLaw:
    """One factor per trade and trial, joined by a Gaussian copula.

    spreads : trade -> spread. [-]
    root : (n_trades, n_trades) lower triangle whose product with its transpose is the correlation of the
        normal scores, in the order of `spreads`.
    """

    spreads: dict[str, Spread]
    root: Floats


@dataclass(frozen=True)
class Laws:
    """Everything uncertain about a plan except the weather."""

    work: tuple[WorkLaw, ...]
    pace: PaceLaw
    handover: HandoverLaw
    trucks: TruckLaw | None = None
