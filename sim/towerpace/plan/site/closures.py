"""Windows of the site: a calendar and weather limits at the height of the work."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from towerpace.climate.faces import FacedWind
from towerpace.climate.height import gust_ratio, mean_ratio
from towerpace.climate.hours import Variable
from towerpace.climate.limits import Cause, HourLimit
from towerpace.plan.parts import Window
from towerpace.plan.site.numbers import Numbers
from towerpace.plan.site.reading import Reading
from towerpace.plan.site.working_hours import calendar_shifts, in_either
from towerpace.scenario.schema import Limit, Settings, Weather
from towerpace.units import Ints

# variable key of the scenario -> what is compared, whether above is bad, what the stop is called
_VARIABLES: dict[str, tuple[Variable, bool, Cause]] = {
    "rain_above_mm_h": ("rain", True, "rain"),
    "temperature_below_degC": ("temperature", False, "cold"),
    "temperature_above_degC": ("temperature", True, "heat"),
    "visibility_below_km": ("visibility", False, "visibility"),
}
OPEN_FIELD = {"en1991": "II", "asce7": "C", "power": None}


@dataclass(frozen=True)
class _Asked:
    """A window that steps refer to: its hours, the word for them, and limits with the height of the work."""

    word: str
    hours: Callable[[Numbers], Ints]
    limits: tuple[str, ...]
    height_m: float
    zone: str | None


class Closures:
    """Notes each window of a scenario once, and makes them all when the numbers are known."""

    def __init__(self, reading: Reading[Numbers]) -> None:
        self._reading = reading
        self._asked: dict[str, _Asked] = {}
        self._numbers: dict[tuple[str, tuple[str, ...], float, str | None], int] = {}
        self._of_calendar: dict[tuple[str, str | None, tuple[str, ...], float, str | None], int] = {}
        self._at_work: dict[str, bool] = {}
        self._on_face: dict[tuple[str, str], bool] = {}
        self._made: dict[str, Window] = {}

    @property
    def keys(self) -> tuple[str, ...]:
        """What the windows asked for so far are called, in the order of their numbers."""
        return tuple(self._asked)

    def window(
        self,
        calendar: str,
        *,
        limits: tuple[str, ...],
        height_m: float,
        also: str | None = None,
        zone: str | None = None,
    ) -> int:
        """Number of the window with these limits at a height, for a step; it is noted if it is new.

        also : a second calendar; the window is open in either. zone : whose face limits may look at; without
        one they count wind from all sides.
        """
        if not any(self._looks_at(name, zone) for name in limits):
            zone = None
        asked = (calendar, also, limits, height_m, zone)
        number = self._of_calendar.get(asked)
        if number is None:
            word = calendar if also is None else f"{calendar} or {also}"
            number = self._of_calendar[asked] = self.over(
                word,
                lambda n: hours_of(n.settings, calendar, also),
                limits=limits,
                height_m=height_m,
                zone=zone,
            )
        return number

    def by_calendar(self) -> dict[str, tuple[int, ...]]:
        """Numbers of the windows that follow each calendar."""
        windows: dict[str, list[int]] = {}
        for (calendar, also, *_), number in self._of_calendar.items():
            for name in dict.fromkeys((calendar, also or calendar)):
                windows.setdefault(name, []).append(number)
        return {name: tuple(numbers) for name, numbers in windows.items()}

    def over(
        self,
        word: str,
        hours: Callable[[Numbers], Ints],
        *,
        limits: tuple[str, ...],
        height_m: float,
        zone: str | None = None,
    ) -> int:
        """The same over open spans, (n, 2), that a word stands for. [min]"""
        asked = (word, limits, height_m, zone)
        if asked not in self._numbers:
            heights = [f"{name} at {height_m:g}" if self._held_at_work(name) else name for name in limits]
            faces = [f" on {zone}" if self._looks_at(name, zone) else "" for name in limits]
            key = ", ".join([word, *(h + face for h, face in zip(heights, faces, strict=True))])
            self._asked.setdefault(key, _Asked(word, hours, limits, height_m, zone))
            self._numbers[asked] = list(self._asked).index(key)
        return self._numbers[asked]

    def windows(self, numbers: Numbers) -> tuple[Window, ...]:
        """All windows; one that is as it was the last time is the same object.

        Raises `ValueError` for a height that the height law does not cover.
        """
        self._made = {key: self._window(key, asked, numbers) for key, asked in self._asked.items()}
        return tuple(self._made.values())

    def _window(self, key: str, asked: _Asked, numbers: Numbers) -> Window:
        window = window_over(
            numbers.settings,
            asked.word,
            asked.hours(numbers),
            limits=asked.limits,
            height_m=asked.height_m,
            zone=asked.zone,
        )
        before = self._made.get(key)
        same = before is not None and before.shifts is window.shifts and before.limits == window.limits
        return before if same and before is not None else window

    def _held_at_work(self, name: str) -> bool:
        """Whether a limit looks at the height of the work, not at one of its own or at none."""
        if name not in self._at_work:
            self._at_work[name] = self._reading.ask(lambda n: _held_at_work(n.settings.limit[name]))
        return self._at_work[name]

    def _looks_at(self, name: str, zone: str | None) -> bool:
        """Whether a limit looks at the face of a zone."""
        if zone is None:
            return False
        if (name, zone) not in self._on_face:
            self._on_face[name, zone] = self._reading.ask(lambda n: looks_at(n.settings, name, zone))
        return self._on_face[name, zone]


def looks_at(settings: Settings, name: str, zone: str | None) -> bool:
    """Whether a limit counts wind by the face of a zone: if both say so."""
    return zone in settings.zone and settings.limit[name].looks_at_faces


def _held_at_work(limit: Limit) -> bool:
    return limit.kind is not None and limit.height_m is None


def window_of(
    settings: Settings,
    calendar: str,
    *,
    limits: tuple[str, ...],
    height_m: float,
    zone: str | None = None,
) -> Window:
    """The hours of a calendar in which limits are kept at a height, on the face of a zone if one is named.

    Raises `ValueError` for a height that the height law does not cover.
    """
    hours = hours_of(settings, calendar)
    return window_over(settings, calendar, hours, limits=limits, height_m=height_m, zone=zone)


def window_over(
    settings: Settings,
    word: str,
    hours: Ints,
    *,
    limits: tuple[str, ...],
    height_m: float,
    zone: str | None = None,
) -> Window:
    """The same over open spans, (n, 2), that a word stands for. [min]"""
    hourly = [_at_height(settings, name, height_m=height_m, zone=zone) for name in limits]
    return Window(", ".join([word, *(limit.name for limit in hourly)]), hours, limits=hourly)


def _at_height(settings: Settings, name: str, *, height_m: float, zone: str | None) -> HourLimit:
    limit = settings.limit[name]
    threshold = float(limit.threshold)
    if limit.kind is None:
        variable, above, cause = _VARIABLES[limit.variable]
        over, under = (threshold, None) if above else (None, threshold)
        return HourLimit(name, variable, over, under, 1.0, limit.restart_min, cause, name)
    at_m = height_m if limit.height_m is None else float(limit.height_m)
    assert settings.weather is not None, "a limit without weather is refused when the scenario is loaded"
    ratio = wind_ratio(settings.weather, kind=limit.kind, height_m=at_m)
    wind: Variable = limit.kind
    said = f"{name} at {at_m:g} m"
    if zone is not None and looks_at(settings, name, zone):
        sector, lee = limit.face_sector_deg, limit.lee_factor
        assert sector is not None, "the scenario is checked when it is loaded"
        assert lee is not None, "the scenario is checked when it is loaded"
        wind = FacedWind(limit.kind, float(settings.zone[zone].facing_deg), float(sector), float(lee))
        said = f"{said} on {zone}"
    return HourLimit(said, wind, threshold, None, ratio, limit.restart_min, "wind", name)


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


def hours_of(settings: Settings, calendar: str, also: str | None = None) -> Ints:
    """Shifts of a calendar, or of two together, over the project, (n, 2). [min]"""
    start, days = settings.tower.start, settings.tower.horizon_days
    own = calendar_shifts(settings.calendar[calendar], start=start, days=days)
    return own if also is None else _in_either(own.tobytes(), hours_of(settings, also).tobytes())


@lru_cache(maxsize=16)
def _in_either(a: bytes, b: bytes) -> Ints:
    return in_either(*(np.frombuffer(spans, dtype=np.int64).reshape(-1, 2) for spans in (a, b)))
