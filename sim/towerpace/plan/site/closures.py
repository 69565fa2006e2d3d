"""Windows of the site: a calendar and weather limits at the height of the work."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from towerpace.climate.height import gust_ratio, mean_ratio
from towerpace.climate.hours import Variable
from towerpace.climate.limits import Cause, HourLimit
from towerpace.plan.parts import Window
from towerpace.plan.site.shifts import in_either, shifts
from towerpace.scenario.schema import Calendar, Limit, Settings, Weather

# variable key of the scenario -> what is compared, whether above is bad, what the stop is called
_VARIABLES: dict[str, tuple[Variable, bool, Cause]] = {
    "rain_above_mm_h": ("rain", True, "rain"),
    "temperature_below_degC": ("temperature", False, "cold"),
    "temperature_above_degC": ("temperature", True, "heat"),
    "visibility_below_km": ("visibility", False, "visibility"),
}


class Closures:
    """Makes each window of a scenario once.

    Raises `ValueError` for a height that the height law does not cover.
    """

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._windows: dict[str, Window] = {}
        self._named: dict[tuple[str, tuple[str, ...], float], str] = {}
        days = settings.tower.horizon_days
        self._shifts = {
            name: calendar_shifts(calendar, start=settings.tower.start, days=days)
            for name, calendar in settings.calendar.items()
        }

    @property
    def windows(self) -> tuple[Window, ...]:
        """Windows asked for so far."""
        return tuple(self._windows.values())

    def window(
        self, calendar: str, *, limits: tuple[str, ...], height_m: float, also: str | None = None
    ) -> str:
        """Name of the window with these limits at a height; it is made if it is new.

        also : a second calendar; the window is open in either.
        """
        hours = calendar if also is None else f"{calendar} or {also}"
        if hours not in self._shifts:
            self._shifts[hours] = in_either(self._shifts[calendar], self._shifts[str(also)])
        return self.over(hours, self._shifts[hours], limits=limits, height_m=height_m)

    def over(self, word: str, spans: NDArray[np.int64], *, limits: tuple[str, ...], height_m: float) -> str:
        """The same over open spans, (n, 2), that a word stands for. [min]"""
        asked = (word, limits, height_m)
        if asked not in self._named:
            hourly = [self._at_height(name, self._settings.limit[name], height_m=height_m) for name in limits]
            name = ", ".join([word, *(limit.name for limit in hourly)])
            self._windows.setdefault(name, Window(name, spans, limits=hourly))
            self._named[asked] = name
        return self._named[asked]

    def _at_height(self, name: str, limit: Limit, *, height_m: float) -> HourLimit:
        threshold = float(limit.threshold)
        if limit.kind is None:
            variable, above, cause = _VARIABLES[limit.variable]
            over, under = (threshold, None) if above else (None, threshold)
            return HourLimit(name, variable, over, under, 1.0, limit.restart_min, cause)
        at_m = height_m if limit.height_m is None else float(limit.height_m)
        weather = self._settings.weather
        assert weather is not None, "a limit without weather is refused when the scenario is loaded"
        ratio = wind_ratio(weather, kind=limit.kind, height_m=at_m)
        variable = "gust" if limit.kind == "gust" else "mean"
        return HourLimit(f"{name} at {at_m:g} m", variable, threshold, None, ratio, limit.restart_min, "wind")


OPEN_FIELD = {"en1991": "II", "asce7": "C", "power": None}


def wind_ratio(weather: Weather, *, kind: str, height_m: float) -> float:
    """Wind at a height on the site over what the record shows, for gusts or means. [-]

    The record is taken in open field at its own height; the laws refer to 10 m in open field.
    """
    law, record_m = weather.height_law, float(weather.record_height_m)
    ratio = gust_ratio if kind == "gust" else mean_ratio
    stated = weather.gust_exponent if kind == "gust" else weather.mean_exponent
    exponent = None if stated is None else float(stated)
    if law != "power":
        exponent = None
    there = ratio(height_m, law=law, exposure=weather.site_exposure, exponent=exponent)
    return there / ratio(record_m, law=law, exposure=OPEN_FIELD[law], exponent=exponent)


def calendar_shifts(calendar: Calendar, *, start: date, days: int) -> NDArray[np.int64]:
    """Shifts of a calendar over the project, (n, 2). [min]"""
    closed = set(calendar.closed)
    for span in calendar.closed_spans:
        closed.update(span.from_ + timedelta(days=k) for k in range((span.to - span.from_).days + 1))
    return shifts(dict(enumerate(calendar.week.days())), closed=closed, start=start, days=days)
