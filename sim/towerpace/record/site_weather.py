"""Wind measured at a height on the site, as the station of the record would have seen it, and back."""

from __future__ import annotations

import numpy as np

from towerpace.plan.site.closures import wind_ratio
from towerpace.record.wind import SiteHours
from towerpace.scenario.schema import Weather
from towerpace.units import Floats

_KINDS = {"gust": "gust", "speed": "mean"}


def at_height(values: Floats, *, quantity: str, height_m: Floats, weather: Weather) -> Floats:
    """Wind of the station at a height on the site, (n,). [m/s]

    quantity : "speed" or "gust". height_m : of each value, (n,).
    """
    return values * _ratios(quantity, height_m, weather)


def at_station(values: Floats, *, quantity: str, height_m: Floats, weather: Weather) -> Floats:
    """Wind measured on the site as the station would have seen it, (n,). [m/s]

    quantity : "speed" or "gust". height_m : of each value, (n,).

    Notes
    -----
    The ratio of the height law, turned round: what the site measured needs no law where the work is as high
    as the instrument, and the law is only asked for the way between.
    """
    return values / _ratios(quantity, height_m, weather)


def _ratios(quantity: str, height_m: Floats, weather: Weather) -> Floats:
    heights, place = np.unique(height_m, return_inverse=True)
    ratios: Floats = np.array([_ratio(quantity, float(height), weather) for height in heights])[place]
    return ratios


def _ratio(quantity: str, height_m: float, weather: Weather) -> float:
    if np.isnan(height_m):
        return 1.0
    return wind_ratio(weather, kind=_KINDS[quantity], height_m=height_m)


def measured_at_station(hours: SiteHours, weather: Weather) -> dict[str, Floats]:
    """Measured hours by quantity, the wind as the station would have seen it; NaN where nobody measured.

    Where a mean was measured and no gust, the gust is the missing-gust factor times the mean, as in a record.
    """
    values = dict(hours.values)
    gust_missing = np.isnan(values["gust"]) & ~np.isnan(values["speed"])
    for quantity in ("speed", "gust"):
        values[quantity] = at_station(
            values[quantity], quantity=quantity, height_m=hours.height_m, weather=weather
        )
    usual = float(weather.missing_gust_factor) * values["speed"]
    values["gust"] = np.where(gust_missing, usual, values["gust"])
    return values
