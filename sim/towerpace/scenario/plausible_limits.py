"""Weather limits that look like another unit, panels that no wind stops, and panels that are all sail."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from towerpace.scenario.beaufort import beaufort
from towerpace.scenario.doubts import PRACTICE, Doubt, doubt_at
from towerpace.scenario.limit_uses import LimitUse, Operation, families_set, limit_uses_of
from towerpace.scenario.load import Scenario
from towerpace.scenario.published_limits import published_limits
from towerpace.scenario.sail import derated_limit_m_s
from towerpace.scenario.schema import Limit

KNOT_M_S, MILE_PER_HOUR_M_S, KM_PER_HOUR_M_S = 1852 / 3600, 0.44704, 1 / 3.6
SAIL_SOURCE = "sail area of EN 13000 and FEM 5.016, from memory"


@dataclass(frozen=True, slots=True)
class _Usual:
    """Usual limits of one operation [m/s], and the published limits that stand beside them."""

    low: float
    high: float
    published: tuple[str, ...] = ()

    def holds(self, speed_m_s: float) -> bool:
        return self.low <= speed_m_s <= self.high

    def source(self) -> str:
        library = published_limits()
        beside = [f"{library[key].authority}, {library[key].section}" for key in self.published]
        printed = [library[key].printed for key in self.published]
        said = [f"{what} in {who}" for what, who in zip(printed, beside, strict=True)]
        return "; ".join([PRACTICE, *said])


# Low ends leave room for sails, which may bring a limit far down.
_USUAL: Mapping[Operation, _Usual] = MappingProxyType(
    {
        "lifting panels": _Usual(2, 15, ("uk_mobile_crane_chart", "cn_open_air_lifting")),
        "hoist trips": _Usual(8, 20, ("chicago_personnel_hoist",)),
        "crane lifts": _Usual(2, 19, ("uk_tower_crane_out_of_service", "iso_4302_normal")),
        "other work": _Usual(2, 20, ("uk_balance_at_height", "eu_mewp_outdoor")),
    }
)
_MOST_MEAN_M_S = 0.8  # a gust is about 1.3 times the mean of its hour, so a limit on means is the lower one

# Variable: low, high, unit, published limits, and other units: their name, scale and zero.
_OTHERS: Mapping[str, tuple[float, float, str, str, tuple[tuple[str, float, float], ...]]] = MappingProxyType(
    {
        "temperature_below_degC": (
            -25,
            15,
            "degC",
            "published limits of cold run from 0 to 50 degF, -18 to 10 degC",
            (("degF", 5 / 9, 32),),
        ),
        "temperature_above_degC": (
            25,
            50,
            "degC",
            "ASTM C840 stops heating at 95 degF, 35 degC, from memory",
            (("degF", 5 / 9, 32),),
        ),
        "rain_above_mm_h": (0.1, 10, "mm/h", PRACTICE, (("in/h", 25.4, 0),)),
        "visibility_below_km": (0.02, 10, "km", PRACTICE, (("m", 0.001, 0),)),
    }
)


def limit_doubts(scenario: Scenario) -> Iterator[Doubt]:
    """Doubts about the numbers of limits that something uses."""
    named: set[str] = set()
    for use in limit_uses_of(scenario.settings):
        for name in use.limits:
            limit = scenario.settings.limit[name]
            doubt = _doubt(scenario, name, limit, use.operation)
            if doubt is not None and name not in named:
                named.add(name)
                yield doubt


def unlimited_doubts(scenario: Scenario) -> Iterator[Doubt]:
    """Doubts about panels that are set in any wind."""
    settings = scenario.settings
    if families_set(settings) and settings.weather is None:
        usual = "a record and wind limits: without them no day is lost to weather"
        yield doubt_at(scenario, ("weather",), found="missing, and panels are lifted", usual=usual)
        return
    for use in limit_uses_of(settings):
        if use.operation == "lifting panels" and not list(_wind_limits(scenario, use)):
            usual = "a wind limit: no wind stops these panels"
            yield doubt_at(scenario, use.path, found="missing a limit of wind", usual=usual)


def sail_doubts(scenario: Scenario) -> Iterator[Doubt]:
    """Doubts about wind limits that take a panel for a load with little face to the wind."""
    for use in limit_uses_of(scenario.settings):
        family = scenario.settings.family.get(str(use.path[1])) if use.operation == "lifting panels" else None
        if family is None or family.mass_kg is None or family.area_m2 is None:
            continue
        mass_kg, area_m2 = float(family.mass_kg), float(family.area_m2)
        for name, limit in _wind_limits(scenario, use):
            threshold = float(limit.threshold)
            chart_m_s = float(limit.maker_limit_m_s or threshold)
            most_m_s = derated_limit_m_s(chart_m_s, mass_kg=mass_kg, area_m2=area_m2)
            if threshold > most_m_s:
                word = "which is" if limit.maker_limit_m_s else "if that is"
                yield doubt_at(
                    scenario,
                    use.path,
                    found=f'"{name}" at {threshold:g} m/s for a sail of {area_m2:g} m2 on {mass_kg:g} kg',
                    usual=f"at most {most_m_s:.1f} m/s: {chart_m_s:g} m/s, {word} the maker's, less the sail",
                    source=SAIL_SOURCE,
                )


def _wind_limits(scenario: Scenario, use: LimitUse) -> Iterator[tuple[str, Limit]]:
    for name in use.limits:
        limit = scenario.settings.limit[name]
        if limit.wind_above_m_s is not None:
            yield name, limit


def _doubt(scenario: Scenario, name: str, limit: Limit, operation: Operation) -> Doubt | None:
    path = ("limit", name, limit.variable)
    if limit.wind_above_m_s is not None:
        return _wind_doubt(scenario, path, limit, operation)
    low, high, unit, source, others = _OTHERS[limit.variable]
    value = float(limit.threshold)
    if low <= value <= high or value == 0:
        return None
    meant = [
        f"{value:g} {other} = {(value - zero) * scale:.3g} {unit}"
        for other, scale, zero in others
        if low <= (value - zero) * scale <= high
    ]
    usual = f"{low:g} to {high:g} {unit}"
    return doubt_at(
        scenario, path, found=f"{value:g} {unit}", usual=usual, source=source, perhaps=" or ".join(meant)
    )


def _wind_doubt(
    scenario: Scenario, path: tuple[str, str, str], limit: Limit, operation: Operation
) -> Doubt | None:
    usual, speed_m_s = _USUAL[operation], float(limit.threshold)
    if limit.kind == "mean":
        usual = _Usual(usual.low * _MOST_MEAN_M_S, usual.high * _MOST_MEAN_M_S, usual.published)
    if usual.holds(speed_m_s):
        return None
    # The scale is one of means, so a gust has no number on it.
    number = f", Beaufort {beaufort(speed_m_s)}" if limit.kind == "mean" else ""
    return doubt_at(
        scenario,
        path,
        found=f"{speed_m_s:g} m/s {limit.kind}{number}",
        usual=f"{usual.low:g} to {usual.high:g} m/s {limit.kind} for {operation}",
        source=usual.source(),
        perhaps=_other_speeds(speed_m_s, usual),
    )


def _other_speeds(number: float, usual: _Usual) -> str:
    """What the same number means in other units of speed, where that would be usual."""
    units = (("knots", KNOT_M_S), ("mph", MILE_PER_HOUR_M_S), ("km/h", KM_PER_HOUR_M_S))
    meant = [
        f"{number:g} {unit} = {number * factor:.1f} m/s"
        for unit, factor in units
        if usual.holds(number * factor)
    ]
    return " or ".join(meant)
