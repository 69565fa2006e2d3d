"""Contingency over the dates without uncertainty, and what each source of spread has to do with it.

A source is switched off with all others on, and on with all others off, on the same draws. Neither list adds
up to the whole where sources meet: fronts wait for the later of two, a late truck matters less in a storm.
What is missing is shown as the remainder and not shared out.

A duration has three parts. Base: all goes as planned. Allowance: what the mean finish gains when all sources
that nearly always move it are switched off together. Contingency: from there to the percentile. They add up
to the date by definition; gains of frequent sources one by one, and the remainder, add up to the allowance.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from towerpace.answers.bid.sources_of_spread import WEATHER, alone, sources_of, without, without_weather
from towerpace.answers.choice.compare import in_days
from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.choice.paired import Difference, paired_difference, percentile_difference
from towerpace.answers.estimates import LATER, percentile
from towerpace.answers.outline import calm
from towerpace.answers.prepare import Prepared
from towerpace.draws import Chooser, as_planned, stream
from towerpace.engine.reference import run
from towerpace.trials.job import Job
from towerpace.trials.run import run_trials
from towerpace.units import DAY_MIN, Ints

NO_WEATHER = "no weather at all"
FREQUENT = 0.95  # share of the trials that a source must move to be an allowance
Play = Callable[[Chooser], Ints]


@dataclass(frozen=True)
class NoUncertainty:
    """Finish if everything goes as planned, without weather and with the weather as recorded. [min]

    As planned: minutes at their means, levels and trucks on their dates, nothing lost, no risk befalls, the
    mock-up passes at once, breakdowns at mean intervals. None beyond the horizon; recorded is None too where
    there is no weather.
    """

    calm: int | None
    recorded: int | None

    @property
    def base(self) -> int | None:
        """What contingency is counted from: weather as recorded where there is weather."""
        return self.calm if self.recorded is None else self.recorded


@dataclass(frozen=True)
class Days:
    """A number of days with its interval; the ends are None where the trials allow none. [d]"""

    value: float
    low: float | None
    high: float | None


@dataclass(frozen=True)
class Part:
    """What one source has to do with the finish. [d]

    off, off_mean : all on less all but this, at the confidence and in the mean: what it would save to be rid
        of this source. alone : this on and nothing else, at the confidence, over the date without
        uncertainty; alone_mean in the mean. sd_off, sd_alone : of the finish. None beyond the horizon, or
        where it was not played. moves : share of the trials whose finish differs without this source.
    """

    source: str
    off: Difference | None
    off_mean: Difference | None
    alone: Days | None
    alone_mean: float | None
    sd_off: float | None
    sd_alone: float | None
    moves: float

    @property
    def frequent(self) -> bool:
        """Whether it shifts the base: an allowance, and not contingency."""
        return self.moves >= FREQUENT


@dataclass(frozen=True)
class Split:
    """Contingency at a confidence, split by source.

    total, total_mean, sd : finish over the date without uncertainty at the confidence and in the mean, and
        its deviation. [d]
    parts : by source. no_weather : what weather in itself costs, None without weather.
    together : all frequent sources off, in the mean: the allowance. None beyond the horizon.
    trials : played for it beside those of the forecast.
    """

    p: float
    planned: NoUncertainty
    total: Days | None
    total_mean: float | None
    sd: float | None
    parts: tuple[Part, ...]
    no_weather: Part | None
    together: Difference | None
    trials: int

    @property
    def frequent(self) -> tuple[Part, ...]:
        """Sources that move the finish in nearly every trial."""
        return tuple(part for part in self.parts if part.frequent)

    @property
    def allowance(self) -> float | None:
        """Mean shift by all frequent sources together. [d]"""
        return None if self.together is None else self.together.mean

    @property
    def remainder_allowance(self) -> float | None:
        """Allowance less what the frequent sources save one by one. [d]"""
        saved = [part.off_mean.mean for part in self.frequent if part.off_mean is not None]
        if self.allowance is None or len(saved) < len(self.frequent):
            return None
        return self.allowance - sum(saved)

    @property
    def contingency(self) -> float | None:
        """From base and allowance to the finish at the confidence. [d]"""
        return None if self.total is None or self.allowance is None else self.total.value - self.allowance

    @property
    def remainder_off(self) -> float | None:
        """Contingency less what switching off each source in turn saves. [d]"""
        return self._remainder([None if part.off is None else part.off.mean for part in self.parts])

    @property
    def remainder_alone(self) -> float | None:
        """Contingency less what each source makes alone. [d]"""
        return self._remainder([None if part.alone is None else part.alone.value for part in self.parts])

    def _remainder(self, values: list[float | None]) -> float | None:
        known = [value for value in values if value is not None]
        if self.total is None or len(known) < len(values):
            return None
        return self.total.value - sum(known)


def no_uncertainty(ready: Prepared) -> NoUncertainty:
    """Finish as planned."""
    plan, weather = ready.tower.plan, ready.chooser.weather
    recorded = None
    if weather is not None:
        recorded = run(plan, as_planned(plan, hours=weather.replayed(0))).finish
    return NoUncertainty(run(calm(plan)).finish, recorded)


def split_trials(ready: Prepared, *, trials: int) -> int:
    """Trials that a split plays."""
    sources = sources_of(ready)
    # One more with all frequent sources off, played even if there are none, as announced.
    return trials * (2 * len(sources) + (WEATHER in sources) + 1)


def split(
    ready: Prepared,
    finish: Ints,
    *,
    p: float,
    seed: int,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Split:
    """Contingency of a forecast by source.

    finish : (n,) of the forecast with this seed; every source is played for as many trials. [min]
    """

    def play(chooser: Chooser) -> Ints:
        job = Job(chooser, FinishMeasure(None), seed)
        result = run_trials(job, trials=len(finish), executor=executor, on_done=on_done)
        if result.interrupted:
            raise KeyboardInterrupt
        return result.outcomes.values["finish"]

    planned, sources = no_uncertainty(ready), sources_of(ready)
    compare = _Against(finish, planned.base, p, seed)
    parts = tuple(compare.part(s, play(without(ready, [s])), play(alone(ready, s))) for s in sources)
    rid = compare.part(NO_WEATHER, play(without_weather(ready)), None) if WEATHER in sources else None
    frequent = [part.source for part in parts if part.frequent]
    together = compare.mean_without(play(without(ready, frequent)))
    return Split(
        p,
        planned,
        compare.over(finish),
        compare.mean_over(finish),
        _sd(finish),
        parts,
        rid,
        together,
        split_trials(ready, trials=len(finish)),
    )


@dataclass(frozen=True)
class _Against:
    """Compares trials with those of the forecast, and with the date without uncertainty."""

    finish: Ints
    base: int | None
    p: float
    seed: int

    def part(self, source: str, off: Ints, on: Ints | None) -> Part:
        rng = stream(self.seed, 0, "bootstrap")
        gained = percentile_difference(self.finish, off, self.p, rng=rng) if len(off) > 1 else None
        return Part(
            source,
            None if gained is None else in_days(gained),
            self.mean_without(off),
            None if on is None else self.over(on),
            None if on is None else self.mean_over(on),
            _sd(off),
            None if on is None else _sd(on),
            float(np.mean(self.finish != off)),
        )

    def mean_without(self, off: Ints) -> Difference | None:
        """What the mean finish gains by what is off, trial by trial."""
        known = len(off) > 1 and not np.any((self.finish == LATER) | (off == LATER))
        return paired_difference(self.finish / DAY_MIN, off / DAY_MIN) if known else None

    def over(self, finish: Ints) -> Days | None:
        found = percentile(finish, self.p)
        if found.value is None or self.base is None:
            return None
        ends = [m if found.bounded else None for m in (found.low, found.high)]
        low, high = (None if m is None else (m - self.base) / DAY_MIN for m in ends)
        return Days((found.value - self.base) / DAY_MIN, low, high)

    def mean_over(self, finish: Ints) -> float | None:
        if self.base is None or np.any(finish == LATER):
            return None
        return float(finish.mean() - self.base) / DAY_MIN


def _sd(finish: Ints) -> float | None:
    if len(finish) < 2 or np.any(finish == LATER):
        return None
    return 0.0 if np.ptp(finish) == 0 else float((finish / DAY_MIN).std(ddof=1))
