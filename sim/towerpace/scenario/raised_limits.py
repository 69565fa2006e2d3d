"""Wind limits that a changed scenario holds above those of its base: never a gain without saying so."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from towerpace.scenario.complaints import dotted
from towerpace.scenario.lifted import Lifted, hours_and_limits, lifted
from towerpace.scenario.limit_uses import limit_uses_of
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import Limit, Settings


@dataclass(frozen=True, slots=True)
class RaisedLimit:
    """A wind limit that lets more wind pass than the base does.

    Parameters
    ----------
    key : str
        Dotted key of what has changed.
    base, changed : str
        The limit in words, before and after.
    how : str
        What leads from one to the other.

    Examples
    --------
    >>> RaisedLimit("limit.lift.wind_above_m_s", "9.8 m/s gust", "11 m/s gust").text()
    'limit.lift.wind_above_m_s: 9.8 m/s gust in the base, raised to 11 m/s gust'
    """

    key: str
    base: str
    changed: str
    how: str = "raised to"

    def text(self) -> str:
        """The change on one line."""
        return f"{self.key}: {self.base} in the base, {self.how} {self.changed}"


def raised_limits(base: Scenario, changed: Scenario) -> list[RaisedLimit]:
    """Wind limits of a set-up, candidate, study point or bid that lie above those of its base.

    Parameters
    ----------
    base, changed : Scenario
        The scenario file as it is, and with changes laid over it.

    Returns
    -------
    list of RaisedLimit
        A higher number; a limit on gusts that has become one on means; one that is held lower down, or counts
        less of the wind from behind; one that is no limit of wind any more; a face that is turned, as wind
        that stopped work there then counts as wind from behind; and work whose limits are now others, or
        none, that let more wind pass. Empty where no limit was raised.

    Notes
    -----
    A mean is compared as the gust that goes with it: the number times `weather.missing_gust_factor`.
    """
    top_m = float(base.levels.height_m[-1])
    limits = _of_limits(base.settings, changed.settings, top_m=top_m)
    faces = _of_faces(base.settings, changed.settings)
    return [*limits, *faces, *_of_work(base.settings, changed.settings), *_of_lifts(base, changed)]


def _of_limits(base: Settings, changed: Settings, *, top_m: float) -> Iterator[RaisedLimit]:
    """Limits that stand in both under one name."""
    for name, before in base.limit.items():
        after = changed.limit.get(name)
        if before.wind_above_m_s is None or after is None:
            continue
        key = dotted(("limit", name, "wind_above_m_s"))
        if after.wind_above_m_s is None or _gust_m_s(after, changed) > _gust_m_s(before, base):
            yield RaisedLimit(key, _words(before), _words(after))
        elif _counted(after, changed) < _counted(before, base):
            yield RaisedLimit(dotted(("limit", name, "lee_factor")), _sides(before), _sides(after))
        elif before.height_m != after.height_m and (after.height_m or 0) < (before.height_m or top_m):
            yield RaisedLimit(dotted(("limit", name, "height_m")), _height(before), _height(after))


def _of_faces(base: Settings, changed: Settings) -> Iterator[RaisedLimit]:
    """Zones that look another way, where limits look at faces before and after."""
    if not all(any(limit.looks_at_faces for limit in one.limit.values()) for one in (base, changed)):
        return
    for name, before in base.zone.items():
        after = changed.zone.get(name)
        if after is not None and after.facing_deg % 360 != before.facing_deg % 360:
            key = dotted(("zone", name, "facing_deg"))
            ways = f"facing {float(before.facing_deg):g}°", f"{float(after.facing_deg):g}°"
            yield RaisedLimit(key, *ways, how="turned to")


def _of_work(base: Settings, changed: Settings) -> Iterator[RaisedLimit]:
    """Work that is held to other limits than before."""
    after = {use.path: use.limits for use in limit_uses_of(changed)}
    for use in limit_uses_of(base):
        limits = after.get(use.path)
        if limits is None or set(use.limits) <= set(limits):
            continue
        before_m_s, strictest = _strictest(use.limits, base.limit, base)
        after_m_s, now = _strictest(limits, changed.limit, changed)
        if after_m_s > before_m_s:
            yield RaisedLimit(dotted(use.path), strictest, now)


def _of_lifts(base: Scenario, changed: Scenario) -> Iterator[RaisedLimit]:
    """Panels that are lifted in another way, which lets more wind pass than every way of the base."""
    told: set[str] = set()
    for panels in lifted(changed.settings, changed.levels):
        if panels.method is None or panels.method in told:
            continue
        before = [p for p in lifted(base.settings, base.levels) if p.family == panels.family]
        if panels in before or not before:
            continue
        was_m_s, was = max(_of_panels(base.settings, p) for p in before)
        now_m_s, now = _of_panels(changed.settings, panels)
        if now_m_s > was_m_s:
            told.add(panels.method)
            yield RaisedLimit(dotted(("method", panels.method)), was, now)


def _of_panels(settings: Settings, panels: Lifted) -> tuple[float, str]:
    return _strictest(hours_and_limits(settings, panels)[1], settings.limit, settings)


def _strictest(names: tuple[str, ...], limits: Mapping[str, Limit], settings: Settings) -> tuple[float, str]:
    """The least gust that stops work under some limits, and its words."""
    wind = [(_gust_m_s(limits[name], settings), f"{_words(limits[name])} of {name}") for name in names]
    return min(wind, default=(float("inf"), "no wind limit"))


def _gust_m_s(limit: Limit, settings: Settings) -> float:
    """Gust that goes with the number of a limit, infinite where it is none of wind. [m/s]"""
    if limit.wind_above_m_s is None:
        return float("inf")
    factor = 1.0 if limit.kind == "gust" or settings.weather is None else settings.weather.missing_gust_factor
    return float(limit.wind_above_m_s) * float(factor)


def _counted(limit: Limit, settings: Settings) -> float:
    """Share of the wind that counts, averaged over where it may come from and over nothing else. [-]"""
    if limit.face_sector_deg is None or limit.lee_factor is None or not settings.zone:
        return 1.0
    inside = float(limit.face_sector_deg) / 180
    return inside + (1 - inside) * float(limit.lee_factor)


def _sides(limit: Limit) -> str:
    if limit.face_sector_deg is None or limit.lee_factor is None:
        return "wind from all sides in full"
    outside = f"{float(limit.lee_factor):g} times from elsewhere"
    return f"wind in full from within {float(limit.face_sector_deg):g}° of the face, {outside}"


def _words(limit: Limit) -> str:
    if limit.wind_above_m_s is None:
        return "no wind limit"
    return f"{float(limit.wind_above_m_s):g} m/s {limit.kind}"


def _height(limit: Limit) -> str:
    return "at the height of the work" if limit.height_m is None else f"at {float(limit.height_m):g} m"
