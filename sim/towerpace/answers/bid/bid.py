"""What a stated duration is worth, and everything a reviewer may ask about it."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from towerpace.answers.bid.allowance import Allowance, Basis, allowance, basis_of
from towerpace.answers.bid.contingency import NoUncertainty, Split, no_uncertainty, split, split_trials
from towerpace.answers.bid.convergence import SecondSeed, Stage, second_seed, stages
from towerpace.answers.bid.damages_due import DamagesDue, damages_of
from towerpace.answers.bid.drivers import Drivers, drivers
from towerpace.answers.bid.measure import BidMeasure
from towerpace.answers.bid.parts import Parts
from towerpace.answers.bid.question import Question, Stated, check, stated_of
from towerpace.answers.bid.screening import Screened
from towerpace.answers.bid.shapley import Order, Share, groups_of, sampled_orders, shares
from towerpace.answers.bid.sources_of_spread import WEATHER, sources_of, without
from towerpace.answers.bid.swings import Swing, ranges_of, swing_trials, swings
from towerpace.answers.bid.variants import Variant, variant_trials, variants
from towerpace.answers.choice.lab import FinishMeasure, processes
from towerpace.answers.cost import cost_book
from towerpace.answers.drawn_inputs import Input, drawn_inputs
from towerpace.answers.estimates import LATER, Percentile, percentile
from towerpace.answers.forecast import Forecast
from towerpace.answers.ledger.book import LedgerNames
from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import Prepared, prepare
from towerpace.answers.reconciled import Reconciled, reconciled
from towerpace.answers.why.by_source import traced
from towerpace.answers.why.explain import MILLION
from towerpace.scenario.load import Scenario
from towerpace.trials.job import Job
from towerpace.trials.run import played, run_trials
from towerpace.units import DAY_MIN, Ints

CONFIDENCES = tuple(k / 100 for k in range(50, 100, 5))
USUAL = 0.8


@dataclass(frozen=True)
class Extent:
    """How much is played.

    trials : of the forecast, and of every source of spread. swing_trials : at each end of each number, 0 for
        none. years : of weather for the allowance, 0 for none. sources, again, variants : whether contingency
        is split, a second seed is played, and other assumptions are tried. orders : of sources that are
        sampled for their mean shares, 0 for none.
    """

    trials: int
    seed: int
    swing_trials: int = 40
    years: int = 200
    sources: bool = True
    again: bool = True
    orders: int = 0
    variants: bool = True


@dataclass(frozen=True)
class Needed:
    """The duration that a confidence needs; over : the date without uncertainty. [d]"""

    confidence: float
    finish: Percentile
    over: float | None


@dataclass(frozen=True)
class Bid:
    """Everything that stands behind a stated duration.

    confidence : at which contingency is counted and split. trials_played : in all. missing : parts that
    Ctrl-C cut short.
    """

    forecast: Forecast
    question: Question
    confidence: float
    stated: Stated | None
    needed: tuple[Needed, ...]
    planned: NoUncertainty
    drivers: Drivers
    stages: tuple[Stage, ...]
    second: SecondSeed | None
    split: Split | None
    reconciled: tuple[Reconciled, ...]
    shares: tuple[Share, ...]
    swings: tuple[Swing, ...]
    swing_trials: int
    basis: Basis | None
    allowance: tuple[Allowance, ...]
    damages: tuple[DamagesDue, ...]
    trials_played: int
    variants: tuple[Variant, ...] = ()
    screened: tuple[Screened, ...] = ()
    missing: tuple[str, ...] = ()


def trials_asked(ready: Prepared, extent: Extent) -> dict[str, int]:
    """Trials of each part, so that their cost is known before they are played."""
    ranges = ranges_of(ready.scenario.settings)
    parts = {
        "forecast": extent.trials,
        "second seed": extent.trials if extent.again else 0,
        "sources of spread": split_trials(ready, trials=extent.trials) if extent.sources else 0,
        "one number at a time": swing_trials(ranges, trials=extent.swing_trials)
        if extent.swing_trials
        else 0,
        "variants": variant_trials(ready, trials=extent.trials) if extent.variants else 0,
        "orders of sources": extent.trials * (1 + len(groups_of(_orders(ready, extent))))
        if extent.orders
        else 0,
    }
    return {name: trials for name, trials in parts.items() if trials}


def _orders(ready: Prepared, extent: Extent) -> list[Order]:
    return sampled_orders(sources_of(ready), extent.orders, seed=extent.seed)


@dataclass(frozen=True)
class Hearers:
    """Who is told.

    cost : trials of each part, before the first is played. say : what is being played. on_done : how many
        trials have just been finished.
    """

    cost: Callable[[dict[str, int]], None] = lambda _: None
    say: Callable[[str], None] = lambda _: None
    on_done: Callable[[int], None] = lambda _: None


def bid(
    scenario: Scenario,
    question: Question,
    extent: Extent,
    *,
    workers: int = 1,
    hearers: Hearers | None = None,
) -> Bid:
    """Answer for a duration.

    Raises `InputError` for what cannot be run, or for a date or a number of days outside the horizon. Ctrl-C
    leaves out the parts that are not finished, and raises `KeyboardInterrupt` before the first trial.
    """
    ready = prepare(scenario)
    check(question, ready)
    confidence = USUAL if question.confidence is None else question.confidence
    cost, hearers = trials_asked(ready, extent), hearers or Hearers()
    hearers.cost(cost)
    with processes(workers) as pool:
        play = _Play(ready, extent, confidence, no_uncertainty(ready), pool, hearers)
        found = play.forecast()
        parts = Parts(is_cut=found.trials < found.asked)
        second = parts.play("second seed", lambda: play.second(found))
        divided = parts.play("sources of spread", lambda: play.split(found))
        moved = parts.play("one number at a time", play.swings) or ()
        varied = parts.play("variants", lambda: play.variants(found)) or ()
        shared = parts.play("shares of the sources", lambda: play.shares(found)) or ()
    basis, lost = parts.play("weather allowance", lambda: play.allowance(found)) or (None, ())
    base = play.planned.base
    return Bid(
        forecast=found,
        question=question,
        confidence=confidence,
        stated=stated_of(question, found),
        needed=tuple(_needed(found, p, base) for p in sorted({*CONFIDENCES, confidence})),
        planned=play.planned,
        drivers=drivers(play.inputs(found), found.finish),
        stages=tuple(stages(found.finish, p=confidence)),
        second=second,
        split=divided,
        reconciled=_reconciled(found, divided),
        shares=shared,
        swings=moved,
        swing_trials=extent.swing_trials,
        basis=basis,
        allowance=lost,
        damages=tuple(damages_of(found)),
        trials_played=found.trials + sum(cost.get(name, 0) for name in parts.finished),
        variants=varied,
        missing=tuple(parts.missing),
    )


def with_screening(answered: Bid, screened: Screened, *, trials: int) -> Bid:
    """The same answer with what a screening found. trials : played for it."""
    played = answered.trials_played + trials
    return replace(answered, screened=(*answered.screened, screened), trials_played=played)


def _reconciled(found: Forecast, split: Split | None) -> tuple[Reconciled, ...]:
    """Every source counted on the chain, off it, and by removal; nothing where it was not split."""
    if split is None:
        return ()
    finished = max(1, int(np.count_nonzero(found.finish != LATER)))
    days = found.outcomes.values["by_source"].sum(axis=0) / (MILLION * finished)
    removed = {part.source: part.off_mean for part in split.parts}
    if split.no_weather is not None:
        removed[WEATHER] = split.no_weather.off_mean
    return tuple(reconciled(tuple(removed), chain=days[0], resources=days[1], removed=removed))


def _mean_days(finish: Ints) -> float | None:
    return None if np.any(finish == LATER) else float(finish.mean()) / DAY_MIN


def _needed(forecast: Forecast, p: float, base: int | None) -> Needed:
    finish = forecast.finish_at(p)
    over = None if base is None or finish.value is None else (finish.value - base) / DAY_MIN
    return Needed(p, finish, over)


@dataclass(frozen=True)
class _Play:
    """Plays the parts of a bid."""

    ready: Prepared
    extent: Extent
    confidence: float
    planned: NoUncertainty
    pool: Executor | None
    hearers: Hearers

    @property
    def until(self) -> int:
        """Minute up to which weather and breakdowns count among the inputs."""
        return self.ready.tower.plan.horizon if self.planned.base is None else self.planned.base

    def forecast(self) -> Forecast:
        """The forecast, with the drawn inputs among its outcomes."""
        self.hearers.say("forecast")
        ready, extent = self.ready, self.extent
        costs = cost_book(ready.scenario.settings, tower=ready.tower, days=ready.days)
        sources = sources_of(ready) if extent.sources else ()
        measure = BidMeasure(ForecastMeasure(ready.tower, costs), ready, self.until, sources)
        job = Job(traced(ready) if sources else ready.chooser, measure, extent.seed)
        result = run_trials(job, trials=extent.trials, executor=self.pool, on_done=self.hearers.on_done)
        book, kept = LedgerNames(ready.tower), (extent.seed, extent.trials, result.outcomes)
        return Forecast(ready.scenario, ready.tower, ready.days, *kept, book.rows, book.causes, costs)

    def inputs(self, found: Forecast) -> list[Input]:
        """What chance decided in every trial of the forecast."""
        self.hearers.say("drivers")
        read = found.outcomes.values["inputs"]
        return drawn_inputs(self.ready, read, seed=self.extent.seed, until=self.until)

    def second(self, found: Forecast) -> SecondSeed | None:
        """The same number of trials under the next seed."""
        if not self.extent.again:
            return None
        self.hearers.say("second seed")
        first, extent = percentile(found.finish, self.confidence), self.extent
        return second_seed(
            self.ready,
            first,
            seed=extent.seed + 1,
            trials=extent.trials,
            executor=self.pool,
            on_done=self.hearers.on_done,
        )

    def split(self, found: Forecast) -> Split | None:
        """Contingency by source."""
        if not self.extent.sources:
            return None
        self.hearers.say("sources of spread")
        return split(
            self.ready,
            found.finish,
            p=self.confidence,
            seed=self.extent.seed,
            executor=self.pool,
            on_done=self.hearers.on_done,
        )

    def shares(self, found: Forecast) -> tuple[Share, ...]:
        """Mean shares of the sources over sampled orders, in the mean finish; none beyond the horizon."""
        if not self.extent.orders:
            return ()
        self.hearers.say("orders of sources")
        orders, sources = _orders(self.ready, self.extent), frozenset(sources_of(self.ready))
        days = {on: self._mean_days(sources - on) for on in (frozenset[str](), *groups_of(orders))}
        days[sources] = _mean_days(found.finish)
        if not orders[0] or None in days.values():
            return ()
        return tuple(shares(orders, lambda on: days[on] or 0.0))

    def _mean_days(self, off: frozenset[str]) -> float | None:
        job = Job(without(self.ready, off), FinishMeasure(None), self.extent.seed)
        trials = self.extent.trials
        off_played = played(job, trials=trials, executor=self.pool, on_done=self.hearers.on_done)
        return _mean_days(off_played.values["finish"])

    def variants(self, found: Forecast) -> tuple[Variant, ...]:
        """The same site under other assumptions."""
        if not self.extent.variants:
            return ()
        self.hearers.say("variants")
        return variants(
            self.ready,
            found.finish,
            p=self.confidence,
            seed=self.extent.seed,
            executor=self.pool,
            on_done=self.hearers.on_done,
        )

    def swings(self) -> tuple[Swing, ...]:
        """One number at a time."""
        if not self.extent.swing_trials:
            return ()
        return tuple(
            swings(
                self.ready.scenario,
                seed=self.extent.seed,
                trials=self.extent.swing_trials,
                executor=self.pool,
                on_done=self.hearers.on_done,
                on_key=lambda key: self.hearers.say(f"one number at a time: {key}"),
            )
        )

    def allowance(self, found: Forecast) -> tuple[Basis | None, tuple[Allowance, ...]]:
        """Weather allowance from the start to the P90 of the finish."""
        if not self.extent.years or self.ready.chooser.weather is None:
            return None, ()
        self.hearers.say("weather allowance")
        last, years = found.finish_at(0.9).value, self.extent.years
        until = None if last is None else self.ready.days.date_of(last)
        lost = allowance(self.ready, years=years, seed=self.extent.seed, until=until)
        return basis_of(self.ready, years=years), tuple(lost)
