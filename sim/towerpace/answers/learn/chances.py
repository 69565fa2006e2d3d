"""Chances learned by counting: breakage, rejection, misfits, risks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.units import Floats

WORTH_EVENTS = 4.0  # a stated chance weighs as much as so many events; judgement, without a source


@dataclass(frozen=True)
class Chance:
    """A chance under a beta law; without spread where it is stated as 0 or 1.

    events, others : the weights a and b of the law: events, and cases without one. [-]

    Examples
    --------
    A chance of 2 % is worth 4 events in 200 panels; 6 more in 100 make it 10 in 300.

    >>> learned = Chance.stated(0.02).seen(events=6, exposed=100)
    >>> round(learned.mean, 4), round(learned.events), round(learned.others)
    (0.0333, 10, 290)
    """

    events: float
    others: float

    @classmethod
    def stated(cls, chance: float) -> Chance:
        """Of a stated chance: a beta law with this mean, worth four events."""
        if not 0 < chance < 1:
            return cls(float(chance == 1), float(chance == 0))
        return cls(WORTH_EVENTS, WORTH_EVENTS * (1 - chance) / chance)

    @classmethod
    def between(cls, low: float, high: float) -> Chance:
        """Of a stated range: the beta law with low as its P10 and high as its P90.

        Raises `ValueError` unless 0 < low < high < 1.
        """
        from scipy.optimize import brentq
        from scipy.special import betainc, betaincinv

        if not 0 < low < high < 1:
            raise ValueError(f"a range of a chance needs 0 < low < high < 1, found {low} and {high}")

        def others(events: float) -> float:
            """With so many events, the other cases that put P10 at low."""
            return float(brentq(lambda b: betainc(events, np.exp(b), low) - 0.1, -30.0, 60.0))

        def ratio(events: float) -> float:
            return float(np.log(betaincinv(events, np.exp(others(events)), 0.9) / high))

        events = float(np.exp(brentq(lambda a: ratio(float(np.exp(a))), np.log(1e-2), np.log(1e7))))
        return cls(events, float(np.exp(others(events))))

    @property
    def certain(self) -> bool:
        """Whether it is stated as 0 or 1, which nothing seen can change."""
        return not (self.events and self.others)

    def seen(self, *, events: float, exposed: float) -> Chance:
        """Given so many events among the exposed.

        exposed : cases that could have shown one.

        Raises `ValueError` for more events than cases exposed.
        """
        if events > exposed:
            raise ValueError(f"{events:g} events among {exposed:g} exposed")
        if self.certain:
            return self
        return Chance(self.events + events, self.others + exposed - events)

    @property
    def mean(self) -> float:
        """Chance of the next event. [-]"""
        return self.events / (self.events + self.others)

    def quantile(self, u: Floats | float) -> Floats:
        """The chance at probabilities. [-]"""
        from scipy.special import betaincinv

        if self.certain:
            return np.full(np.shape(u), self.mean)
        return np.asarray(betaincinv(self.events, self.others, u))
