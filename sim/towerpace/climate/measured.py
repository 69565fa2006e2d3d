"""The weather of a site that has been measured up to a data date, and is drawn from then on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

import numpy as np

from towerpace.climate.hours import Hours
from towerpace.climate.source import WeatherSource
from towerpace.lots.streams import Streams
from towerpace.units import Floats

_COLUMNS = {
    "speed_m_s": "speed",
    "gust_m_s": "gust",
    "temperature_c": "temperature",
    "rain_mm": "rain",
    "visibility_km": "visibility",
    "thunder": "thunder",
    "direction_deg": "direction",
}


@dataclass(frozen=True)
class MeasuredSource(WeatherSource):
    """A source of weather whose first hours are known.

    measured : by quantity, values of the first hours as the station would have seen them, NaN for hours and
        quantities that nobody measured: they are drawn like any other.
    """

    measured: Mapping[str, Floats] = field(default_factory=dict)

    @classmethod
    def over(cls, source: WeatherSource, measured: Mapping[str, Floats]) -> MeasuredSource:
        """Measured hours laid over another source."""
        own: dict[str, Any] = {part.name: getattr(source, part.name) for part in fields(WeatherSource)}
        return cls(**own, measured=measured)

    def hours(self, trial: int, streams: Streams) -> Hours:
        """Weather of one trial."""
        return laid_over(super().hours(trial, streams), self.measured)

    def replayed(self, trial: int) -> Hours:
        """The record as it came, from the data date on."""
        return laid_over(super().replayed(trial), self.measured)


def laid_over(drawn: Hours, known: Mapping[str, Floats]) -> Hours:
    """Hours in which those that are known take the place of others.

    known : by quantity, values of the first hours, NaN where nobody knows.
    """
    columns = {}
    for column, quantity in _COLUMNS.items():
        values, own = getattr(drawn, column), known.get(quantity)
        if values is not None and own is not None:
            n = min(len(own), len(values))
            values = values.copy()
            some = ~np.isnan(own[:n])
            values[:n][some] = own[:n][some]
        columns[column] = values
    return Hours(**columns)
