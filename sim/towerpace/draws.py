"""The only maker of random numbers: everything uncertain about one trial, before the clock starts.

Each purpose has a stream of its own, keyed by seed, trial and purpose, and each item its own place in it.
So two set-ups of one scenario meet the same weather, the same late trucks and the same slow days, however
differently their sites run: common random numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b

import numpy as np
from numpy.typing import NDArray

from towerpace.plan.laws import HandoverLaw, Laws, PaceLaw, TruckLaw
from towerpace.plan.model import NONE, Plan
from towerpace.weather.hours import Hours
from towerpace.weather.source import WeatherSource

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
HOUR_MIN, DAY_MIN = 60, 1440


@dataclass(frozen=True)
class Draw:
    """What chance decided for one trial, as arrays over the compiled steps.

    work : (n,) minutes each step lasts. [min]
    date : (n,) earliest start. [min]
    skip : (n,) whether the step is left out.
    hours : the weather, hour by hour from the first midnight; None without weather.
    """

    work: Ints
    date: Ints
    skip: NDArray[np.bool_]
    hours: Hours | None = None

    def check(self, plan: Plan) -> None:
        """Refuse a draw that does not fit the plan; raises `ValueError`."""
        for word, array in (("work", self.work), ("date", self.date), ("skip", self.skip)):
            if array.shape != (plan.n,):
                raise ValueError(f"draw: {word} has shape {array.shape}, the plan needs ({plan.n},)")
        if self.work.size and int(self.work.min()) < 0:
            raise ValueError("draw: work must be >= 0 min")
        if np.any(self.skip & (plan.flag == NONE)):
            raise ValueError("draw: skips a step that carries no flag")
        flagged = plan.flag != NONE
        size = len(plan.flags)
        skipped = np.bincount(plan.flag[flagged], weights=self.skip[flagged], minlength=size)
        carried = np.bincount(plan.flag[flagged], minlength=size)
        if np.any((skipped != 0) & (skipped != carried)):
            raise ValueError("draw: steps of one flag are skipped together or not at all")


def as_planned(plan: Plan, *, hours: Hours | None = None) -> Draw:
    """The draw in which every step takes its expected minutes, nothing is skipped."""
    return Draw(plan.work, plan.date, np.zeros(plan.n, dtype=np.bool_), hours)


def stream(seed: int, trial: int, purpose: str) -> np.random.Generator:
    """The stream of a purpose in one trial: Philox, a counter-based generator, under a hashed key.

    Source: Salmon, Moraes, Dror & Shaw (2011), Parallel random numbers: as easy as 1, 2, 3 (from memory).
    """
    digest = blake2b(f"{seed}/{trial}/{purpose}".encode(), digest_size=16).digest()
    return np.random.Generator(np.random.Philox(key=int.from_bytes(digest, "little")))


@dataclass(frozen=True)
class Chooser:
    """Draws trials of one plan.

    weather : where the hours come from, or None.
    """

    plan: Plan
    laws: Laws
    weather: WeatherSource | None

    @cached_property
    def _lengths(self) -> dict[str, int]:
        """Places needed in the stream of each purpose of a duration."""
        lengths: dict[str, int] = {}
        for law in self.laws.work:
            for term in law.terms:
                lengths[term.purpose] = max(lengths.get(term.purpose, 0), int(law.items.max(initial=0)) + 1)
        return lengths

    def draw(self, seed: int, trial: int) -> Draw:
        """Everything uncertain about one trial; the same for the same seed and trial, always."""
        chances = {p: stream(seed, trial, p).random(n) for p, n in self._lengths.items()}
        pace = draw_pace(self.laws.pace, seed=seed, trial=trial)
        work = self.plan.work.copy()
        for law in self.laws.work:
            drawn = [term.spread.quantile(chances[term.purpose][law.items]) for term in law.terms]
            work[law.steps] = law.minutes(
                np.sum(drawn, axis=0) if drawn else 0.0, pace=pace[law.pace] if law.pace else 1.0
            )
        date = self.plan.date.copy()
        date[self.laws.handover.steps] = draw_handover(self.laws.handover, seed=seed, trial=trial)
        if self.laws.trucks is not None:
            date[self.laws.trucks.steps] = draw_trucks(self.laws.trucks, seed=seed, trial=trial)
        skip = np.zeros(self.plan.n, dtype=np.bool_)
        return Draw(work, date, skip, self.hours(seed, trial))

    def hours(self, seed: int, trial: int) -> Hours | None:
        """The weather of one trial."""
        if self.weather is None:
            return None
        return self.weather.hours(
            trial, blocks=stream(seed, trial, "weather"), years=stream(seed, trial, "windy years")
        )


def draw_pace(law: PaceLaw, *, seed: int, trial: int) -> dict[str, float]:
    """Pace factor of every trade in one trial, joined by the law's copula. [-]"""
    from scipy.special import ndtr

    scores = np.array([stream(seed, trial, f"pace of {name}").standard_normal() for name in law.spreads])
    chances = ndtr(law.root @ scores)
    return {
        name: float(spread.quantile(chances[k : k + 1])[0])
        for k, (name, spread) in enumerate(law.spreads.items())
    }


def draw_handover(law: HandoverLaw, *, seed: int, trial: int) -> Ints:
    """Minute of each level's handover in one trial, (n_levels,). [min]"""
    slips = law.slip_days.quantile(stream(seed, trial, "structure").random(len(law.steps)))
    late = law.planned + np.rint(np.cumsum(slips) * DAY_MIN).astype(np.int64)
    return np.maximum(np.maximum.accumulate(late), 0)


def draw_trucks(law: TruckLaw, *, seed: int, trial: int) -> Ints:
    """Minute at which each truck is there in one trial, (k,). [min]"""
    n = int(law.items.max(initial=-1)) + 1
    is_late = stream(seed, trial, "truck late").random(n)[law.items] < law.chance
    hours = law.late_h.quantile(stream(seed, trial, "truck hours late").random(n)[law.items])
    return law.planned + np.where(is_late, np.rint(hours * HOUR_MIN), 0).astype(np.int64)
