"""Minutes of the steps: spreads by item, and one pace for each trade and trial."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import Protocol

import numpy as np

from towerpace.lots.streams import Streams, by_trial
from towerpace.plan.arrays import PlanArrays
from towerpace.plan.chance import (
    MINUTES,
    NOTHING_KNOWN,
    Drawn,
    Known,
    Law,
    MadeOnce,
    Probe,
    stretch,
)
from towerpace.plan.learned import LearnedPace
from towerpace.plan.together import Together, joined
from towerpace.plan.work_law import WorkLaw
from towerpace.scenario.spread_rows import Row, Run
from towerpace.scenario.spreads import Spread
from towerpace.units import Floats, Ints

MINUTES_OF = "item minutes of "


class Hindrance(Protocol):
    """Something that stretches the minutes of a trade for a whole trial.

    source : of spread that it is put down to.
    """

    @property
    def trade(self) -> str:
        """The trade it stretches."""

    @property
    def source(self) -> str:
        """What its spread is put down to."""

    def factor(self, streams: Streams, known: Known) -> Floats:
        """Minutes over what they are without it, (...). [-]"""

    def law(self) -> tuple[Floats, Floats]:
        """Factors that stand for all it may be, and the chance of each, (n,). [-]"""


@dataclass(frozen=True)
class PaceLaw(MadeOnce):
    """One factor per trade and trial, joined by a Gaussian copula, times what hinders the trade.

    spreads : trade -> spread. [-]
    root : (n_trades, n_trades) lower triangle whose product with its transpose is the correlation of the
        normal scores, in the order of `spreads`.
    """

    spreads: dict[str, Spread]
    root: Floats
    hindrances: tuple[Hindrance, ...] = ()

    @cached_property
    def _row(self) -> Row:
        return Row([Run(np.zeros(1, dtype=np.int64), spread) for spread in self.spreads.values()])

    def factors(self, streams: Streams, known: Known = NOTHING_KNOWN) -> dict[str, Floats]:
        """Pace factor of every trade in one trial, (); in many, (n_trials,). [-]

        What was learned of a trade is read at the same score, so that trials stay as good or bad as they
        were, and trades go together as stated. What hinders it is in what was learned.
        """
        from scipy.special import ndtr

        places = ndtr(by_trial(streams, self._scores))
        drawn = np.moveaxis(self._row.quantile(places), -1, 0)
        factors: dict[str, Floats] = dict(zip(self.spreads, drawn, strict=True))
        for hindrance in self.hindrances:
            factors[hindrance.trade] = factors[hindrance.trade] * hindrance.factor(streams, known)
        learned: Mapping[str, LearnedPace] = {} if known.learned is None else known.learned.paces
        places_of = dict(zip(self.spreads, np.moveaxis(places, -1, 0), strict=True))
        return factors | {name: pace.quantile(places_of[name]) for name, pace in learned.items()}

    def _scores(self, streams: Streams) -> Floats:
        """Normal scores of the trades in one trial, (n_trades,). [-]"""
        alone = np.array([streams(f"pace of {name}").standard_normal() for name in self.spreads])
        scores: Floats = self.root @ alone
        return scores


@dataclass(frozen=True)
class Durations(MadeOnce, Law):
    """Minutes of all steps that take uncertain time, and the pace of the trades; each step under one law."""

    work: tuple[WorkLaw, ...]
    pace: PaceLaw

    @cached_property
    def _together(self) -> Together:
        return Together(self.work)

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw the minutes of every step it covers."""
        steps, learned = self._together, known.learned
        of_names = self._of_names(self.pace.factors(streams, known), streams)
        if learned is None and known.seen is None:
            steps.write(into.work, paces=of_names, streams=streams)
            return
        paces, terms, scatter = of_names[steps.pace], steps.terms(streams), np.ones(1)
        if learned is not None:
            terms, paces, scatter = steps.as_learned(terms, paces, learned=learned, streams=streams)
        minutes = steps.law.minutes(terms, pace=paces)
        if known.seen is not None:
            minutes = steps.given_spent(minutes, paces, scatter=scatter, seen=known.seen)
        into.work[steps.law.steps] = minutes

    def _of_names(self, factors: Mapping[str, Floats], streams: Streams) -> Floats:
        """Pace factors in the order of the steps' names of them, 1 without a name, (..., n_paces). [-]"""
        names = self._together.paces
        of_names = np.ones((*getattr(streams, "shape", ()), len(names)))
        for k, name in enumerate(names):
            if name is not None:
                of_names[..., k] = factors[name]
        return of_names

    def takes_many(self, known: Known) -> bool:
        """Unless the site has taught or shown something."""
        return known.learned is None and known.seen is None

    def sources(self) -> set[str]:
        """Sources of its minutes and of what hinders the trades."""
        return {law.source for law in self.work} | {hindrance.source for hindrance in self.pace.hindrances}

    def without(self, off: Collection[str]) -> Iterator[Law]:
        """The minutes that stay uncertain; what hinders a trade by chance also stretches planned ones."""
        hindrances = tuple(hindrance for hindrance in self.pace.hindrances if hindrance.source not in off)
        work = tuple(law for law in self.work if law.source not in off)
        if work:
            yield Durations(work, replace(self.pace, hindrances=hindrances))
        if MINUTES in off:
            for hindrance in hindrances:
                steps = [law.steps for law in self.work if law.pace == hindrance.trade]
                yield StretchLaw(joined(steps, np.int64), hindrance)

    def probes(self, plan: PlanArrays, *, until: int) -> Iterator[Probe]:  # noqa: ARG002  one interface
        """Drawn over planned minutes of everything of one kind; remedies and certain minutes are left out.

        Certain minutes over their pace vary by rounding alone, and would be credited with what the pace does.
        """
        kinds: dict[tuple[str, str, str | None], list[Ints]] = {}
        for law in self.work:
            steps = law.steps[plan.planned[law.steps]]
            if len(steps) and not law.certain:
                name = law.terms[0].purpose if law.pace is None else f"{MINUTES_OF}{law.pace}"
                kinds.setdefault((name, law.source, law.pace), []).append(steps)
        for (name, source, pace), parts in kinds.items():
            steps = np.concatenate(parts)
            if planned := int(plan.work[steps].sum()):
                yield Probe(name, source, "of planned", planned, partial(_sum_of, steps), pace)

    def drawn_for(self, plan: PlanArrays) -> Iterator[tuple[Spread, float]]:
        """Every term with the items of planned steps, and the pace of every trade.

        Items weigh as the minutes that one more of theirs adds; counted are as many of equal weight as have
        a mean as steady: (sum w)^2 / (sum w^2), Kish (1965), Survey Sampling, section 11.7 (from memory).
        """
        spread_of: dict[int, Spread] = {}
        weights: dict[int, dict[tuple[str, int], float]] = {}
        for law in self.work:
            planned = plan.planned[law.steps]
            for k, term in enumerate(law.terms if planned.any() else ()):
                spread_of[id(term.spread)] = term.spread
                own = weights.setdefault(id(term.spread), {})
                shares = (law.factor * law.weight(k))[planned].tolist()
                for item, share in zip(law.items[planned].tolist(), shares, strict=True):
                    own[term.stream, item] = own.get((term.stream, item), 0.0) + share
        for key, own in weights.items():
            w = np.array(list(own.values()))
            yield spread_of[key], float(w.sum() ** 2 / (w**2).sum()) if w.any() else 1.0
        for spread in self.pace.spreads.values():
            yield spread, 1.0


def _sum_of(steps: Ints, drawn: Drawn) -> int:
    return int(drawn.work[steps].sum())


@dataclass(frozen=True)
class StretchLaw(Law):
    """Planned minutes of a trade times what hinders it, where the pace itself is not drawn.

    steps : (k,) steps of the trade.
    """

    steps: Ints
    hindrance: Hindrance

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw by how much it stretches."""
        factor = np.asarray(self.hindrance.factor(streams, known))
        stretch(into, self.steps, factor=factor[..., np.newaxis], known=known)

    def takes_many(self, known: Known) -> bool:  # noqa: ARG002  one interface
        """Always."""
        return True
