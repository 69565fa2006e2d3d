"""Minutes of the steps: spreads by item, and one pace for each trade and trial."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from itertools import accumulate
from typing import Any, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.plan.chance import (
    MINUTES,
    NOTHING_KNOWN,
    Drawn,
    Known,
    Law,
    MadeOnce,
    Probe,
    Streams,
    stream_name,
    stretch,
)
from towerpace.plan.given import given_longer
from towerpace.plan.learned import LearnedPace, LearnedPaces, scattered
from towerpace.plan.seen import Seen
from towerpace.scenario.spread_rows import SpreadRow
from towerpace.scenario.spreads import Spread
from towerpace.units import Floats, Ints

Scalar = TypeVar("Scalar", bound=np.generic)
MINUTES_OF = "item minutes of "


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

    def factor(self, streams: Streams, known: Known) -> float:
        """Minutes over what they are without it. [-]"""

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
    def _row(self) -> SpreadRow:
        return SpreadRow(list(self.spreads.values()), counts=[1] * len(self.spreads))

    def factors(self, streams: Streams, known: Known = NOTHING_KNOWN) -> dict[str, float]:
        """Pace factor of every trade in one trial. [-]

        What was learned of a trade is read at the same score, so that trials stay as good or bad as they
        were, and trades go together as stated. What hinders it is in what was learned.
        """
        from scipy.special import ndtr

        scores = np.array([streams(f"pace of {name}").standard_normal() for name in self.spreads])
        places = ndtr(self.root @ scores)
        factors = dict(zip(self.spreads, self._row.quantile(places).tolist(), strict=True))
        for hindrance in self.hindrances:
            factors[hindrance.trade] *= hindrance.factor(streams, known)
        places_of = dict(zip(self.spreads, places.tolist(), strict=True))
        learned: Mapping[str, LearnedPace] = {} if known.learned is None else known.learned.paces
        return factors | {name: float(pace.quantile(places_of[name])) for name, pace in learned.items()}


@dataclass(frozen=True)
class Durations(MadeOnce, Law):
    """Minutes of all steps that take uncertain time, and the pace of the trades; each step under one law."""

    work: tuple[WorkLaw, ...]
    pace: PaceLaw

    @cached_property
    def _together(self) -> _Together:
        return _Together(self.work)

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw the minutes of every step it covers."""
        steps, learned = self._together, known.learned
        pace = {None: 1.0} | self.pace.factors(streams, known)
        paces = np.array([pace[name] for name in steps.paces])[steps.pace]
        terms, scatter = steps.terms(streams), np.ones(1)
        if learned is not None:
            terms, paces, scatter = steps.as_learned(terms, paces, learned=learned, streams=streams)
        minutes = steps.law.minutes(terms, pace=paces)
        if known.seen is not None:
            minutes = steps.given_spent(minutes, paces, scatter=scatter, seen=known.seen)
        into.work[steps.law.steps] = minutes

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
                yield StretchLaw(_joined(steps, np.int64), hindrance)

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
        stretch(into, self.steps, factor=self.hindrance.factor(streams, known), known=known)


class _Together:
    """The steps of many laws in one row, so that the arithmetic is done once and not law by law.

    Laws with more terms come first. So those with a second term, too, are the first steps of the row.

    law : all steps under one law, whose terms are left to `terms`.
    paces, pace : the names of the pace factors, and (n,) which of them is that of each step.
    """

    def __init__(self, laws: Sequence[WorkLaw]) -> None:
        laws = sorted(laws, key=lambda law: len(law.terms), reverse=True)
        self._laws, self._trades = laws, dict[str, tuple[Ints, tuple[Floats, Floats]]]()
        self.law = _as_one(laws)
        self.paces = tuple(dict.fromkeys(law.pace for law in laws))
        self.pace = _joined([np.full(len(law.steps), self.paces.index(law.pace)) for law in laws], np.int64)
        self._streams = stretches = _stretches(laws)
        most = max((len(law.terms) for law in laws), default=0)
        with_term = [[law for law in laws if len(law.terms) > k] for k in range(most)]
        self._sizes = [sum(len(law.items) for law in some) for some in with_term]
        terms = [(law, k) for k, some in enumerate(with_term) for law in some]
        places = [law.items + stretches[law.terms[k].stream].start for law, k in terms]
        self._places = _joined(places, np.int64)
        self._weights = _joined([law.weight(k) for law, k in terms], np.float64)
        self._spreads = SpreadRow([law.terms[k].spread for law, k in terms], counts=list(map(len, places)))

    def terms(self, streams: Streams) -> Floats:
        """Sum of the terms of every step, each times its weight, (n,). [min]"""
        u = np.empty(sum(stretch.stop - stretch.start for stretch in self._streams.values()))
        for name, places in self._streams.items():
            streams(name).random(out=u[places])
        drawn = self._weights * self._spreads.quantile(u[self._places])
        terms, first = np.zeros(len(self.law.steps)), 0
        for size in self._sizes:
            terms[:size] += drawn[first : first + size]
            first += size
        return terms

    @cached_property
    def _stated(self) -> tuple[Floats, Floats]:
        """Mean and variance of the certain minutes and all terms of each step, (n,). [min] [min^2]"""
        moments = [_moments(law) for law in self._laws]
        means = _joined([mean for mean, _ in moments], np.float64)
        return means, _joined([variance for _, variance in moments], np.float64)

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
        steps=_joined([law.steps for law in laws], np.int64),
        items=_joined([law.items for law in laws], np.int64),
        factor=_joined([law.factor for law in laws], np.float64),
        fixed=_joined([law.fixed for law in laws], np.float64),
        terms=(),
    )


def _stretches(laws: Sequence[WorkLaw]) -> dict[str, slice]:
    """The places of each stream in one row of all."""
    lengths: dict[str, int] = {}
    for law in laws:
        for term in law.terms:
            lengths[term.stream] = max(lengths.get(term.stream, 0), int(law.items.max(initial=-1)) + 1)
    ends = accumulate(lengths.values())
    return {name: slice(end - lengths[name], end) for name, end in zip(lengths, ends, strict=True)}


def _joined(parts: Sequence[NDArray[Any]], dtype: type[Scalar]) -> NDArray[Scalar]:
    """Arrays one after the other; of no length if there are none."""
    return np.concatenate([np.empty(0, dtype), *parts], dtype=dtype)
