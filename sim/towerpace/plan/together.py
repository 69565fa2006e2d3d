"""The steps of many laws of minutes in one row, drawn and written in two calls."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from towerpace.compiling.addresses import Laid
from towerpace.lots.streams import Streams
from towerpace.plan.arrays import NONE
from towerpace.plan.given import given_longer
from towerpace.plan.learned import LearnedPaces, scattered
from towerpace.plan.minutes import ONCE, MinuteArrays, write_minutes
from towerpace.plan.seen import Seen
from towerpace.plan.work_law import WorkLaw
from towerpace.scenario.spread_rows import Row, Run, may_count
from towerpace.units import Floats, Ints

Scalar = TypeVar("Scalar", bound=np.generic)


class Together:
    """The steps of many laws in one row, so that all are drawn in one call and not law by law.

    law : all steps under one law, whose terms are left to the row.
    paces, pace : the names of the pace factors, and (n,) which of them is that of each step.
    """

    def __init__(self, laws: Sequence[WorkLaw]) -> None:
        self._laws, self._trades = laws, dict[str, tuple[Ints, tuple[Floats, Floats]]]()
        self.law = _as_one(laws)
        self.paces = tuple(dict.fromkeys(law.pace for law in laws))
        self._paces = np.array([self.paces.index(law.pace) for law in laws], dtype=np.int64)
        self.pace = np.repeat(self._paces, [len(law.steps) for law in laws])
        self._row = Row([Run(law.items, term.spread, term.stream) for law in laws for term in law.terms])

    def write(self, work: Ints, *, paces: Floats, streams: Streams) -> None:
        """Draw the minutes of every step and write them into those of the plan, of one trial or of many.

        work : (..., n_plan). [min]  paces : (..., n_paces), as in `paces`. [-]
        """
        if may_count(streams) and self._row.is_compiled:
            laid, counters = self._laid, streams.counters(self._row.purposes)
            room = np.empty((3, self._longest))
            write_minutes(laid.table, counters, np.atleast_2d(paces), room, np.atleast_2d(work))
        else:
            minutes = self.law.minutes(self.terms(streams), pace=paces[..., self.pace])
            work[..., self.law.steps] = minutes

    @cached_property
    def _longest(self) -> int:
        """How many steps the longest law has, or numbers the blocks of the longest run."""
        return max(self._row.room, *(len(law.steps) for law in self._laws), 0)

    def terms(self, streams: Streams) -> Floats:
        """Sum of the terms of every step, each times its weight, (..., n). [min]"""
        drawn = self._row.drawn(streams)
        terms = np.zeros((*drawn.shape[:-1], len(self.law.steps)))
        first, lot = 0, 0
        for law in self._laws:
            k = len(law.steps)
            for term in range(len(law.terms)):
                terms[..., first : first + k] += law.weight(term) * drawn[..., lot : lot + k]
                lot += k
            first += k
        return terms

    @cached_property
    def _laid(self) -> Laid[MinuteArrays]:
        laws, own = self._laws, self.law
        weights = [
            None if law.weights is None else law.weights[:, term]
            for law in laws
            for term in range(len(law.terms))
        ]
        lengths = np.array([0 if weight is None else len(weight) for weight in weights], dtype=np.int64)
        arrays = MinuteArrays(
            self._row.arrays,
            first_run=np.cumsum([0, *(len(law.terms) for law in laws)]),
            first_step=np.cumsum([0, *(len(law.steps) for law in laws)]),
            pace=self._paces,
            steps=own.steps.astype(np.int32),
            factor=own.factor,
            fixed=own.fixed,
            first_weight=np.where(lengths > 0, np.cumsum(lengths) - lengths, ONCE),
            weights=joined([weight for weight in weights if weight is not None], np.float64),
        )
        return Laid(arrays)

    @cached_property
    def _stated(self) -> tuple[Floats, Floats]:
        """Mean and variance of the certain minutes and all terms of each step, (n,). [min] [min^2]"""
        moments = [_moments(law) for law in self._laws]
        means = joined([mean for mean, _ in moments], np.float64)
        return means, joined([variance for _, variance in moments], np.float64)

    def as_learned(
        self, terms: Floats, paces: Floats, *, learned: LearnedPaces, streams: Streams
    ) -> tuple[Floats, Floats, Floats]:
        """Terms with the scatter, and paces with the effects of fronts, as the site shows; the scatter."""
        terms, factors, scatters = terms.copy(), paces.copy(), np.ones_like(terms)
        for name in learned.paces:
            own, (mean, log_variance) = self._of_trade(name)
            factors[own] *= learned.front_factors(name, self.law.steps[own], streams)
            scatters[own] = scatter = learned.scatter(name, streams)
            if scatter != 1:
                fixed = self.law.fixed[own]
                stated = {"mean": mean, "log_variance": log_variance}
                terms[own] = scattered(fixed + terms[own], scatter=scatter, **stated) - fixed
        return terms, factors, scatters

    def _of_trade(self, name: str) -> tuple[Ints, tuple[Floats, Floats]]:
        """Places of the steps of a trade, (k,), and mean and variance of ln of their minutes. [min] [-]"""
        if name not in self._trades:
            number = self.paces.index(name) if name in self.paces else NONE
            own, (mean, variance) = np.flatnonzero(self.pace == number), self._stated
            usual = np.maximum(mean[own], 1e-9)
            self._trades[name] = own, (mean[own], np.log1p(variance[own] / usual**2))
        return self._trades[name]

    def given_spent(self, minutes: Ints, paces: Floats, *, scatter: Floats, seen: Seen) -> Ints:
        """Minutes of those in progress given that they were not enough so far, (n,). [min]"""
        running = seen.timed[self.law.steps]
        if not running.any():
            return minutes
        mean, variance = (moment[running] for moment in self._stated)
        log_sd = np.sqrt(np.log1p(variance / np.where(mean > 0, mean, 1.0) ** 2))
        log_sd *= np.broadcast_to(scatter, minutes.shape)[running]
        spent = seen.spent[self.law.steps[running]]
        longer = given_longer(
            minutes[running].astype(np.float64),
            least=spent.astype(np.float64),
            mean=mean * (self.law.factor * paces)[running],
            log_sd=log_sd,
        )
        minutes = minutes.copy()
        minutes[running] = np.maximum(np.rint(longer), spent + 1)
        return minutes


def _moments(law: WorkLaw) -> tuple[Floats, Floats]:
    """Mean and variance of the minutes of each step of a law, before factor and pace, (k,). [min] [min^2]"""
    weights = [law.weight(k) for k in range(len(law.terms))]
    mean = law.fixed + sum(w * term.spread.mean() for w, term in zip(weights, law.terms, strict=True))
    variances = [(w * term.spread.sd()) ** 2 for w, term in zip(weights, law.terms, strict=True)]
    return mean, np.sum(variances, axis=0) if variances else np.zeros(len(law.steps))


def _as_one(laws: Sequence[WorkLaw]) -> WorkLaw:
    """One law for the steps of many, without their terms."""
    return WorkLaw(
        steps=joined([law.steps for law in laws], np.int64),
        items=joined([law.items for law in laws], np.int64),
        factor=joined([law.factor for law in laws], np.float64),
        fixed=joined([law.fixed for law in laws], np.float64),
        terms=(),
    )


def joined(parts: Sequence[NDArray[Any]], dtype: type[Scalar]) -> NDArray[Scalar]:
    """Arrays one after the other; of no length if there are none."""
    return np.concatenate([np.empty(0, dtype), *parts], dtype=dtype)
