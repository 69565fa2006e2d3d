"""The weather of the days to come as somebody has forecast it: never taken at face value."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from towerpace.climate.hours import Hours
from towerpace.climate.measured import MeasuredSource, laid_over
from towerpace.climate.source import WeatherSource
from towerpace.lots.streams import Streams
from towerpace.units import Floats

# Standard deviation of the logarithm of the wind's error at no lead and at a week's, beyond which it stays,
# and the hours after which two errors have little in common. Judgement, no source.
FIRST_SD, WEEK_SD, WEEK_H = 0.10, 0.35, 168
ALIKE_H = 24.0
ERRORS = "forecast error"  # purpose of a stream


@dataclass(frozen=True)
class ForetoldSource(MeasuredSource):
    """A source of weather over which a forecast is laid.

    members : each by quantity the values of all hours as the station would have seen them, NaN for hours of
        which it does not speak: they come from the record's blocks like any other. Trial t takes member t mod
        n as it is; the only member of a forecast is taken with an error of its wind that grows with the lead.
    issued_h : hour of the project at which they were made, from which leads count.
    """

    members: tuple[Mapping[str, Floats], ...] = ()
    issued_h: int = 0

    @classmethod
    def ahead_of(
        cls, source: WeatherSource, members: Sequence[Mapping[str, Floats]], *, issued_h: int
    ) -> ForetoldSource:
        """A forecast laid over another source."""
        own: dict[str, Any] = {part.name: getattr(source, part.name) for part in fields(source)}
        return cls(**own, members=tuple(members), issued_h=issued_h)

    def hours(self, trial: int, streams: Streams) -> Hours:
        """Weather of one trial."""
        drawn, member = super().hours(trial, streams), self.members[trial % len(self.members)]
        if len(self.members) > 1:
            return laid_over(drawn, member)
        n = len(member["speed"])
        factors = wind_errors(n - self.issued_h, rng=streams(ERRORS))
        erring = dict(member)
        for quantity in ("speed", "gust"):
            erring[quantity] = member[quantity] * np.append(np.ones(n - len(factors)), factors)
        return laid_over(drawn, erring)


def wind_errors(n_hours: int, *, rng: np.random.Generator) -> Floats:
    """Factors on a forecast's wind by its lead, (n_hours,), alike in hours that are near. [-]

    The logarithm of the factor is s(lead) z, z a stationary autoregression of the first order with unit
    variance, whose hours one day apart are correlated by 1/e; s grows evenly to that of a week.
    """
    from scipy.signal import lfilter  # importing it takes a second

    alike = np.exp(-1.0 / ALIKE_H)
    steps = rng.standard_normal(n_hours) * np.sqrt(1 - alike**2)
    if n_hours:
        steps[0] /= np.sqrt(1 - alike**2)
    z = lfilter([1.0], [1.0, -alike], steps)
    spread = FIRST_SD + (WEEK_SD - FIRST_SD) * np.minimum(np.arange(n_hours) / WEEK_H, 1.0)
    factors: Floats = np.exp(spread * z)
    return factors
