"""Header names of a weather record: each name carries its quantity, its unit and, for wind, its height.

A speed without its unit is how knots become metres a second, so a name that states no unit, or one that
is not listed here, is a fault and never a guess. Columns of other quantities (dew point, pressure,
flags) are nobody's input and pass unread.
"""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from towerpace.faults import Fault, nearest_word

KNOT_M_S = 1852 / 3600
MILE_PER_HOUR_M_S = 0.44704
TIME = "time_lst"
HEIGHT = r"_(?P<height>\d+(?:\.\d+)?)m"

_SPEED = MappingProxyType(
    {"m_s": 1.0, "knots": KNOT_M_S, "mph": MILE_PER_HOUR_M_S, "km_h": 1 / 3.6},
)
_UNIT_TEXT = MappingProxyType(
    {
        "m_s": "m/s",
        "knots": "knots",
        "mph": "mph",
        "km_h": "km/h",
        "degC": "degC",
        "mm": "mm",
        "km": "km",
        "deg": "°",
    },
)


@dataclass(frozen=True)
class Quantity:
    """One quantity of the record, its accepted units and the range that an hour of it can have.

    Attributes
    ----------
    stem
        How its header names begin.
    units
        Unit as written in a header name, and the factor that turns it into the unit of the record.
    low, high
        Range in the unit of the record; a value outside it is a fault.
    wind
        True if the name also states the height of the instrument.
    yes_or_no
        True if the only values are 0 and 1.
    """

    stem: str
    units: Mapping[str, float]
    low: float
    high: float
    wind: bool = False
    required: bool = False
    yes_or_no: bool = False

    def names(self, height: str = "10") -> list[str]:
        """Header names that this quantity may have."""
        stem = f"{self.stem}_{height}m" if self.wind else self.stem
        return [f"{stem}_{unit}" if unit else stem for unit in self.units]


# 60 m/s: no hourly mean near the ground comes to it. 113 m/s: the highest surface gust outside a tornado
# (Barrow Island 1996, World Meteorological Organization; from memory), so a mistyped gust is found as well.
QUANTITIES: Mapping[str, Quantity] = MappingProxyType(
    {
        "speed": Quantity("wind_speed", _SPEED, 0.0, 60.0, wind=True, required=True),
        "gust": Quantity("wind_gust", _SPEED, 0.0, 113.0, wind=True, required=True),
        "temperature": Quantity("air_temp", {"degC": 1.0}, -90.0, 60.0),
        "rain": Quantity("precip", {"mm": 1.0}, 0.0, 400.0),
        "visibility": Quantity("visibility", {"km": 1.0}, 0.0, 500.0),
        "direction": Quantity("wind_dir", {"deg": 1.0}, 0.0, 360.0),
        "thunder": Quantity("thunder", {"": 1.0}, 0.0, 1.0, yes_or_no=True),
    }
)
OPTIONAL = tuple(key for key, quantity in QUANTITIES.items() if not quantity.required)


@dataclass(frozen=True)
class RecordColumn:
    """Where one quantity stands in the file: its name, its place in a row, its factor and its height [m]."""

    quantity: Quantity
    name: str
    index: int
    unit: str
    height_m: float | None

    @property
    def factor(self) -> float:
        """What turns the unit of the file into the unit of the record."""
        return self.quantity.units[self.unit]

    @property
    def allowed(self) -> str:
        """The range of a value in words, in the unit of the file."""
        if self.quantity.yes_or_no:
            return "0 or 1"
        low, high = (f"{bound / self.factor:.4g}" for bound in (self.quantity.low, self.quantity.high))
        return f"a number from {low} to {high} {_UNIT_TEXT[self.unit]}"


def find_columns(
    header: Sequence[str], *, file: str, needed: Collection[str] | None
) -> tuple[dict[str, RecordColumn], list[Fault]]:
    """Columns of the record by quantity, and the faults of the header.

    Parameters
    ----------
    header
        Names of the first row.
    file
        Name of the file as the faults shall show it.
    needed
        Optional quantities that must be there; those not named are not read. None reads what there is.

    Raises
    ------
    ValueError
        If `needed` names no optional quantity.
    """
    if unknown := set(needed or ()) - set(OPTIONAL):
        raise ValueError(f"needed may name {', '.join(OPTIONAL)}; got {', '.join(sorted(unknown))}")
    columns: dict[str, RecordColumn] = {}
    faults: list[Fault] = []
    for key, quantity in QUANTITIES.items():
        if not quantity.required and needed is not None and key not in needed:
            continue
        candidates = [(i, name) for i, name in enumerate(header) if _begins(name, quantity)]
        good = [column for i, name in candidates if (column := _column(name, index=i, quantity=quantity))]
        faults += _name_faults(candidates, good=good, quantity=quantity, file=file)
        if good:
            columns[key] = good[0]
        elif not candidates and (quantity.required or needed is not None):
            faults.append(_missing(header, quantity.names(), key=quantity.stem, file=file))
    if list(header).count(TIME) != 1:
        faults.append(_missing(header, [TIME], key=TIME, file=file))
    return columns, faults + _height_faults(columns, file=file)


def _begins(name: str, quantity: Quantity) -> bool:
    return name == quantity.stem or name.startswith(quantity.stem + "_")


def _column(name: str, *, index: int, quantity: Quantity) -> RecordColumn | None:
    height = HEIGHT if quantity.wind else ""
    units = "|".join(f"_{unit}" if unit else "" for unit in quantity.units)
    match = re.fullmatch(f"{quantity.stem}{height}(?P<unit>{units})", name)
    if match is None:
        return None
    height_m = float(match["height"]) if quantity.wind else None
    return RecordColumn(quantity, name, index, match["unit"].removeprefix("_"), height_m)


def _name_faults(
    candidates: list[tuple[int, str]],
    *,
    good: list[RecordColumn],
    quantity: Quantity,
    file: str,
) -> list[Fault]:
    good_names = [column.name for column in good]
    faults = []
    for _, name in candidates:
        if name in good_names:
            continue
        height = re.match(quantity.stem + HEIGHT, name)
        lacks = "height" if quantity.wind and height is None else "known unit"
        names = quantity.names(height["height"] if height else "10")
        nearest = nearest_word(name, names)
        faults.append(Fault(file, 1, name, f"a name without a {lacks}", " | ".join(names), nearest))
    if len(good) > 1:
        names_text = ", ".join(good_names)
        faults.append(Fault(file, 1, quantity.stem, f"{len(good)} columns: {names_text}", "one column", None))
    return faults


def _missing(header: Sequence[str], names: list[str], *, key: str, file: str) -> Fault:
    count = list(header).count(names[0])
    found = f"{count} columns of this name" if count else "missing column"
    return Fault(file, 1, key, found, "one column " + " | ".join(names), nearest_word(names[0], header))


def _height_faults(columns: dict[str, RecordColumn], *, file: str) -> list[Fault]:
    heights = {column.height_m for key, column in columns.items() if key in ("speed", "gust")}
    if len(heights) < 2:
        return []
    found = f"{columns['gust'].height_m:g} m, the speed {columns['speed'].height_m:g} m"
    return [Fault(file, 1, columns["gust"].name, found, "one height for speed and gust", None)]
