"""The weather allowance of a bid as tables: hours lost by operation, levels and month, and the limits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from towerpace.answers.bid.allowance import Allowance, Basis, Lost
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table, interval

_PROGRAMS = On.PROGRAMS


def _lost(unit: str, kind: Kind, label: str, *, on: On) -> Iterator[Column]:
    """Mean and percentiles of what is lost, with their intervals."""
    yield Column(f"mean_{unit}", kind, about="mean of the generated years", on=_PROGRAMS)
    for p in (50, 80, 90):
        yield Column(f"p{p}_{unit}", kind, f"P{p} [{label}]", about=f"P{p} of them", digits=0, on=on)
        yield from interval(f"p{p}_{unit}", kind, about="end of its 95 % interval", on=_PROGRAMS)


ALLOWANCE = Table(
    "allowance",
    "Weather allowance: hours lost",
    (
        Column("operation", Kind.NAME, about="what waits for the weather"),
        Column("limits", Kind.NAME, about="limits that stop it", on=_PROGRAMS | On.PAGE),
        Column("lowest", Kind.COUNT, about="lowest level of the band", on=_PROGRAMS),
        Column("highest", Kind.COUNT, about="highest level of the band", on=_PROGRAMS),
        Column("levels", Kind.NAME, about="the band", on=On.PEOPLE),
        Column("month", Kind.NAME, about="month, or all together"),
        Column("shift_h", Kind.HOURS, "shift [h]", about="shift hours of the month", digits=0),
        Column("shift_days", Kind.COUNT, about="days with a shift", on=_PROGRAMS),
        Column("record_h", Kind.HOURS, "record [h]", about="lost in the record", digits=0),
        Column("record_most_h", Kind.HOURS, about="lost in its worst year", on=_PROGRAMS),
        Column("record_days", Kind.DAYS, about="days lost in the record", on=_PROGRAMS),
        *_lost("h", Kind.HOURS, "h", on=On.ALL),
        *_lost("days", Kind.DAYS, "d", on=On.ALL),
        *_lost("h_no_year_factor", Kind.HOURS, "h", on=_PROGRAMS),
    ),
    about="hours and days that weather takes, by month and level band",
    folded=True,
    on=On.ALL & ~On.TERMINAL,
)
PERIOD = Table(
    "allowance_in_all",
    "Weather allowance from the start to the P90 of the finish",
    ALLOWANCE.columns,
    on=On.TERMINAL,
)


def allowance_tables(basis: Basis | None, rows: Sequence[Allowance]) -> Iterator[Table]:
    """Allowance in all, then month by month; empty without weather."""
    yield PERIOD.filled(_row(row) for row in rows if row.month == "all")
    yield ALLOWANCE.filled(map(_row, rows), note="" if basis is None else basis_text(basis))


def basis_text(basis: Basis) -> str:
    """The record and how years were dealt from it."""
    years = basis.record_years
    span = f"{years[0]} to {years[-1]}" if len(years) > 1 else f"{years[0]}"
    factor = f"year factor sd {basis.factor_sd:g}" if basis.factor_sd else "no year factor"
    dealt = (
        f"{basis.years} years dealt in blocks of {basis.block_days} days from within "
        f"{basis.season_days} days of the season, {factor}"
        if basis.block_days
        else "the record as it came, no blocks"
    )
    station = basis.station or "no source"
    return f"Record of {span} at {basis.record_height_m:g} m ({station}); {dealt}."


def _row(row: Allowance) -> Row:
    levels = f"L{row.lowest}" if row.lowest == row.highest else f"L{row.lowest}-{row.highest}"
    steady = row.hours if row.steady_hours is None else row.steady_hours
    return (
        row.operation,
        ", ".join(row.limits),
        row.lowest,
        row.highest,
        levels,
        row.month,
        row.shift_h,
        row.shift_days,
        row.record_h,
        row.record_most_h,
        row.record_days,
        *_numbers(row.hours, 60),
        *_numbers(row.days, 1000),
        *_numbers(steady, 60),  # without a year factor both are the same
    )


def _numbers(lost: Lost, scale: int) -> Row:
    percentiles = [
        None if value is None else value / scale
        for p in (lost.p50, lost.p80, lost.p90)
        for value in (p.value, *((p.low, p.high) if p.bounded else (None, None)))
    ]
    return (lost.mean, *percentiles)
