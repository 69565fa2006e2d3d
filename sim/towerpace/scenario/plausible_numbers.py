"""Numbers that look like another unit: minutes that are hours, hours that are minutes, heights in feet."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from towerpace.scenario.complaints import Path
from towerpace.scenario.doubts import PRACTICE, Doubt, doubt_at
from towerpace.scenario.load import Scenario
from towerpace.scenario.spreads import Spread
from towerpace.scenario.tables import read_table

FOOT_M = 0.3048
STOREY_M = (2.4, 7.0)
HIGHEST_STOREY_M = 30.0
_HOURS, _MINUTES = ("h", 60.0), ("min", 1 / 60)


@dataclass(frozen=True, slots=True)
class _Range:
    """Usual middle of a number at a path, "*" for any name, and the other units it may be in."""

    path: tuple[str, ...]
    low: float
    high: float
    unit: str
    others: tuple[tuple[str, float], ...] = ()

    def perhaps(self, value: float) -> str:
        """The number in the other units that would make it usual."""
        meant = [
            f"{value:.4g} {unit} = {value * factor:.3g} {self.unit}"
            for unit, factor in self.others
            if self.low <= value * factor <= self.high
        ]
        return " or ".join(meant)


def _min(key: str, low: float, high: float) -> _Range:
    return _Range(tuple(key.split(".")), low, high, "min", (_HOURS, ("s", 1 / 60)))


def _h(key: str, low: float, high: float) -> _Range:
    return _Range(tuple(key.split(".")), low, high, "h", (_MINUTES, ("days", 24.0)))


_RANGES = (
    _min("family.*.set_min", 3, 480),
    _min("family.*.misfit_min", 3, 960),
    _min("trade.*.unit_min", 0.5, 480),
    _min("crane.set_up_min", 5, 480),
    _min("crane.zone_move_min", 5, 480),
    _min("crane.level_move_min", 15, 1440),
    _min("crane.reposition_min", 1, 120),
    _min("hoist.load_min", 0.5, 60),
    _min("hoist.unload_min", 0.5, 60),
    _min("delivery.unload_min", 5, 480),
    _min("delivery.sort_min", 5, 960),
    _min("activity.*.lift_min", 5, 960),
    _min("limit.*.restart_min", 0, 480),
    _h("activity.*.work_h", 0.5, 1500),
    _h("water_test.hours", 0.2, 100),
    _h("hoist.extension_h", 0.5, 100),
    _h("trade.*.drying_h", 0.5, 400),
    _h("resource.*.breakdown.every_h", 10, 10_000),
    _h("resource.*.breakdown.repair_h", 0.1, 1000),
    _Range(("hoist", "speed_m_s"), 0.2, 4, "m/s", (("m/min", 1 / 60), ("ft/min", FOOT_M / 60))),
    _Range(("hoist", "acceleration_m_s2"), 0.05, 3, "m/s2"),
    _Range(("family", "*", "mass_kg"), 10, 10_000, "kg", (("t", 1000.0),)),
    _Range(("family", "*", "area_m2"), 0.2, 60, "m2", (("ft2", FOOT_M**2),)),
    _Range(("trade", "*", "pace"), 0.4, 2.5, "times as planned", (("%", 0.01),)),
)


def number_doubts(scenario: Scenario) -> Iterator[Doubt]:
    """Doubts about durations, speeds, masses and areas, by the middle of their spread."""
    for expected in _RANGES:
        for path, value in _values(scenario.settings, expected.path):
            if not expected.low <= value <= expected.high and value != 0:
                yield doubt_at(
                    scenario,
                    path,
                    found=f"{value:.4g} {expected.unit}",
                    usual=f"{expected.low:g} to {expected.high:g} {expected.unit}",
                    perhaps=expected.perhaps(value),
                )


def height_doubts(scenario: Scenario) -> Iterator[Doubt]:
    """Doubts about storeys that are feet, a storey out of the row, and lifts far above the tower."""
    levels = scenario.levels
    storeys_m = np.diff(levels.height_m)
    if len(storeys_m):
        usual, low = f"storeys of {STOREY_M[0]:g} to {STOREY_M[1]:g} m", float(np.median(storeys_m))
        if not STOREY_M[0] <= low <= STOREY_M[1]:
            feet = STOREY_M[0] <= low * FOOT_M <= STOREY_M[1]
            meant = f"{low:g} ft = {low * FOOT_M:.3g} m" if feet else None
            yield _of_level(scenario, levels.levels[1], f"storeys of {low:g} m", usual, meant)
        elif storeys_m.max() > HIGHEST_STOREY_M:
            above = levels.levels[int(storeys_m.argmax()) + 1]
            found = f"{storeys_m.max():g} m from the level below"
            yield _of_level(scenario, above, found, f"at most {HIGHEST_STOREY_M:g} m", None)
    yield from _height_keys(scenario, top_m=float(levels.height_m[-1]))


def _height_keys(scenario: Scenario, *, top_m: float) -> Iterator[Doubt]:
    high_m = 1.5 * top_m + 30
    for group in ("activity", "limit"):
        expected = _Range((group, "*", "height_m"), 0, high_m, "m", (("ft", FOOT_M),))
        for path, value in _values(scenario.settings, expected.path):
            if value > high_m:
                yield doubt_at(
                    scenario,
                    path,
                    found=f"{value:g} m",
                    usual=f"at most {high_m:.0f} m, as the top level stands at {top_m:g} m",
                    perhaps=expected.perhaps(value),
                )


def _of_level(scenario: Scenario, level: int, found: str, usual: str, perhaps: str | None) -> Doubt:
    file, line = line_of_level(scenario, level)
    return Doubt(file, line, "height_m", found, usual, PRACTICE, perhaps)


def line_of_level(scenario: Scenario, level: int) -> tuple[str, int | None]:
    """File and first line of a level in the level table."""
    name = scenario.settings.tower.levels
    table = read_table(scenario.folder / name, shown_as=str(scenario.folder / name))
    lines = (row.line for row in table.rows if row.cells["level"] == str(level))
    return table.file, next(lines, None)


def _values(table: object, path: tuple[str, ...], done: Path = ()) -> Iterator[tuple[Path, float]]:
    """Path and middle of every number at a path; what is not stated is passed over."""
    if not path:
        if isinstance(table, Spread):
            yield done, table.mean()
        elif isinstance(table, int | float):
            yield done, float(table)
        return
    key, *rest = path
    if key == "*" and isinstance(table, Mapping):
        for name, entry in table.items():
            yield from _values(entry, tuple(rest), (*done, name))
    elif key in getattr(table, "model_fields_set", ()):
        yield from _values(getattr(table, key), tuple(rest), (*done, key))
