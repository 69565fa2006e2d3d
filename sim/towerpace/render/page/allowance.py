"""The weather allowance of a bid: hours and days lost by operation, band of levels and month."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from towerpace.render.page.model import (
    NUMBER,
    Block,
    Cell,
    Facts,
    Rows,
    cell,
    day,
    grid,
    grouped,
    number,
    words,
)

_KEYS = ("p50_h", "p80_h", "p90_h", "record_h", "p80_days", "p90_days")
_COLUMNS = (
    "Month",
    "in shift [h]",
    "P50 [h]",
    "P80 [h]",
    "P90 [h]",
    "record [h]",
    "P80 [days]",
    "P90 [days]",
)


def allowance(data: Mapping[str, Any]) -> list[Block]:
    """Its basis, and every month."""
    found = data.get("allowance")
    if not found:
        return []
    return [*_basis(found["basis"]), *_months(found["rows"], found["basis"])]


def limits_of(data: Mapping[str, Any]) -> list[Block]:
    """Limits with gust or mean said, as a bid has saved them."""
    found = (data.get("allowance") or {}).get("basis", {}).get("limits")
    if not found:
        return []
    rows = [
        [
            Cell(words(one["name"])),
            Cell(one["text"]),
            cell(one["restart_min"], NUMBER),
            cell(one["makers_m_s"], NUMBER),
            Cell(one["source"], flag="" if one["source"] else "no source"),
        ]
        for one in found
    ]
    columns = ("Limit", "stops", "restart after [min]", "maker's limit [m/s]", "authority")
    return [
        grid("Limits and the authority of each", columns, rows, note="Wind in m/s, rain in mm/h, cold in °C.")
    ]


def _basis(basis: Mapping[str, Any]) -> Iterator[Block]:
    years = basis["record_years"]
    span = f"{years[0]} to {years[-1]}" if len(years) > 1 else str(years[0])
    factor = f"spread {number(basis['factor_sd'])}" if basis["factor_sd"] else "none"
    yield Facts(
        [
            ("station", str(basis["station"])),
            ("years of the record", f"{len(years)} ({span})"),
            ("height of the record", f"{number(basis['record_height_m'])} m"),
            ("years dealt from it", number(basis["years"])),
            ("year factor", factor),
            ("method", str(basis["method"])),
        ]
    )


def _months(rows: Sequence[Mapping[str, Any]], basis: Mapping[str, Any]) -> Iterator[Block]:
    groups: dict[str, list[list[Cell]]] = {}
    for one in rows:
        name = f"{words(one['operation'])}, levels {one['lowest']} to {one['highest']}"
        numbers = [cell(one[key], NUMBER) for key in ("shift_h", *_KEYS)]
        groups.setdefault(name, []).append([_month(one["month"]), *numbers])
    note = (
        f"Over {number(basis['years'])} generated years; P90 is the month of one year in ten. Record: the "
        "mean of its years as they were. With the year factor, where the scenario has one."
    )
    made = [Rows(own, name) for name, own in groups.items()]
    yield grouped("Weather allowance, month by month", _COLUMNS, made, note=note, folded=True)


def _month(text: str) -> Cell:
    try:
        return Cell(day(date.fromisoformat(f"{text}-01")).partition(" ")[2])
    except ValueError:
        return Cell(words(text))
