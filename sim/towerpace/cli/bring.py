"""towerpace bring: other people's files turned once into what a scenario reads."""

from __future__ import annotations

import dataclasses
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

if TYPE_CHECKING:
    from towerpace.bring.brought import Brought, Said
    from towerpace.bring.weather.checks import WorkHours

app = typer.Typer(
    help="Bring in a spreadsheet, a calendar, weather files or a building model: "
    "each becomes a file that a scenario reads, with its provenance beside it.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

WIDTH = 80
HOURS_A_DAY = 24
MOST_SHOWN = 5  # things left out that are shown; all of them stand in the provenance


DAY = ["%Y-%m-%d"]
NOT_SAID = ("file", "files", "out", "replace")  # they stand elsewhere in the provenance


class Form(StrEnum):
    """Formats of weather files, as `bring/weather/formats.py` has them."""

    epw = "epw"
    isd_lite = "isd-lite"
    lcd = "lcd"
    ghcnh = "ghcnh"
    hourly_csv = "hourly-csv"
    metar = "metar"


class Gusts(StrEnum):
    """Whether reported gusts are used."""

    reported = "reported"
    none = "none"


class LcdUnit(StrEnum):
    """Units of the speeds of LCD files."""

    mph = "mph"
    m_s = "m_s"


class Timed(StrEnum):
    """What events at a time of day are."""

    whole_days = "whole-days"
    leave_out = "leave-out"


class Dates(StrEnum):
    """Order of year, month and day in dates that are texts."""

    iso = "iso"
    dmy = "dmy"
    mdy = "mdy"


Source = Annotated[Path, typer.Argument(metavar="FILE", help="The file to bring in.")]
Replace = Annotated[bool, typer.Option("--replace", help="Overwrite files of the same name.")]


@app.command("levels")
def levels(
    ctx: typer.Context,
    file: Source,
    column: Annotated[
        list[str] | None,
        typer.Option(
            "--column",
            metavar="OURS=HEADING",
            help="Which heading is which column (OURS alone: both alike); repeat.",
        ),
    ] = None,
    constant: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="OURS=VALUE", help="One value for every row, as zone=all; repeat."),
    ] = None,
    leave_out: Annotated[
        list[str] | None,
        typer.Option("--leave-out", metavar="HEADING", help="A column that is not read; repeat."),
    ] = None,
    sheet: Annotated[
        str | None, typer.Option("--sheet", help="Sheet of a workbook that has several.")
    ] = None,
    heading_row: Annotated[int, typer.Option("--heading-row", min=1, help="Row of the headings.")] = 1,
    last_row: Annotated[
        int | None, typer.Option("--last-row", min=1, help="Last row read; sums and remarks stand below.")
    ] = None,
    separator: Annotated[
        str | None, typer.Option("--separator", help='Between cells of a text table: ";", ",", "tab".')
    ] = None,
    decimal_comma: Annotated[
        bool, typer.Option("--decimal-comma", help="3,8 is 3.8; cells are then separated by semicolons.")
    ] = False,
    dates: Annotated[
        Dates, typer.Option("--dates", help="Order in text dates: iso is 2027-03-01, dmy 01/03/2027.")
    ] = Dates.iso,
    level_prefix: Annotated[str, typer.Option("--level-prefix", help='"L" reads L12 as level 12.')] = "",
    encoding: Annotated[str, typer.Option("--encoding", help="Letters of a text table.")] = "utf-8",
    out: Annotated[Path, typer.Option("--out", help="The level table to write.")] = Path("levels.csv"),
    replace: Replace = False,
) -> None:
    """Bring in a level table from a workbook (XLSX) or any text table (CSV)."""
    from towerpace.bring.level_cells import CellReading
    from towerpace.bring.levels import Mapped, bring_levels
    from towerpace.bring.separated import separated_table
    from towerpace.bring.workbooks import is_workbook, workbook_table

    _before(file, out=out, replace=replace)
    if is_workbook(file):
        table = workbook_table(file, sheet=sheet, heading_row=heading_row)
    else:
        between = _separator(separator, decimal_comma=decimal_comma)
        table = separated_table(file, separator=between, encoding=encoding, heading_row=heading_row)
    mapped = Mapped(
        _pairs(column, option="--column"), _pairs(constant, option="--set"), tuple(leave_out or ()), last_row
    )
    reading = CellReading(decimal_comma, dates.value, level_prefix)
    _after(ctx, bring_levels(table, mapped=mapped, reading=reading), out=out, replace=replace)


@app.command("calendar")
def calendar(
    ctx: typer.Context,
    first: Annotated[
        datetime, typer.Option("--from", formats=DAY, help="First day of the project.", show_default=False)
    ],
    last: Annotated[
        datetime, typer.Option("--to", formats=DAY, help="Last day that may be needed.", show_default=False)
    ],
    file: Annotated[
        Path | None, typer.Argument(metavar="[FILE]", help="An iCalendar file; none with --country.")
    ] = None,
    country: Annotated[
        str | None, typer.Option("--country", help="Public holidays of a country, as GB (ISO 3166-1).")
    ] = None,
    region: Annotated[
        str | None, typer.Option("--region", help="A part of the country, as ENG (ISO 3166-2).")
    ] = None,
    timed: Annotated[
        Timed | None, typer.Option("--timed", help="What events at a time of day are; else they are refused.")
    ] = None,
    out: Annotated[Path, typer.Option("--out", help="The TOML file to write.")] = Path("calendar.toml"),
    replace: Replace = False,
) -> None:
    """Bring in days off from an iCalendar file, or the public holidays of a country."""
    from towerpace.bring.days_off import bring_days_off
    from towerpace.bring.icalendar_days import icalendar_days
    from towerpace.bring.public_holidays import public_holidays

    begin, end = first.date(), last.date()
    if (file is None) == (country is None):
        _refuse("FILE", "none" if file is None else f"{file} and --country {country}", "a file or --country")
    if region is not None and country is None:
        _refuse("--region", region, "a region of a --country")
    if end < begin:
        _refuse("--to", f"{end}", f"a day from {begin} on")
    _before(*([file] if file else []), out=out, replace=replace)
    if file is not None:
        days_off = icalendar_days(file, first=begin, last=end, timed=timed.value if timed else None)
    else:
        days_off = public_holidays(country or "", region=region, first=begin, last=end)
    _after(ctx, bring_days_off(days_off, first=begin, last=end), out=out, replace=replace)


@app.command("weather")
def weather(
    ctx: typer.Context,
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Files of one station.")],
    form: Annotated[Form, typer.Option("--format", help="What the files are.", show_default=False)],
    gusts: Annotated[
        Gusts,
        typer.Option("--gusts", help="Use reported gusts, or none (all are then a factor on the mean)."),
    ],
    missing_gust_factor: Annotated[
        float, typer.Option("--missing-gust-factor", min=1, help="Gust over mean where no gust is reported.")
    ],
    gust_limit: Annotated[
        list[float] | None, typer.Option("--gust-limit", min=0, help="A limit on gusts, m/s; repeat.")
    ] = None,
    mean_limit: Annotated[
        list[float] | None, typer.Option("--mean-limit", min=0, help="A limit on the mean wind, m/s; repeat.")
    ] = None,
    utc_offset: Annotated[
        float | None,
        typer.Option("--utc-offset", min=-12, max=14, help="Local standard time from UTC, hours."),
    ] = None,
    height: Annotated[
        float | None, typer.Option("--height", min=0.1, help="Instrument above ground, metres.")
    ] = None,
    unit: Annotated[
        LcdUnit | None, typer.Option("--unit", help="Of LCD files: mph in version 1, m_s in version 2.")
    ] = None,
    first_month: Annotated[
        datetime | None,
        typer.Option(
            "--first-month", formats=["%Y-%m"], help="Of the first METAR, where lines bear no date."
        ),
    ] = None,
    as_year: Annotated[
        int | None, typer.Option("--as-year", min=1900, max=2100, help="Year to put a typical year into.")
    ] = None,
    fill_gaps: Annotated[
        int, typer.Option("--fill-gaps", min=0, help="Gaps of so many hours repeat the hour before.")
    ] = 0,
    leave_out: Annotated[
        bool, typer.Option("--leave-out", help="Leave out reports that cannot be true, and list them.")
    ] = False,
    days: Annotated[str, typer.Option("--days", help="Days that are counted.")] = "mon-sat",
    hours: Annotated[str, typer.Option("--hours", help="Hours that are counted.")] = "7-17",
    unit_confirmed: Annotated[
        bool, typer.Option("--unit-confirmed", help="The unlikely mean wind is right.")
    ] = False,
    out: Annotated[Path, typer.Option("--out", help="The record to write.")] = Path("weather.csv"),
    replace: Replace = False,
) -> None:
    """Bring in a weather record, and print the hours that your limits stop in it."""
    from towerpace.bring.weather.formats import FORMATS, UNSAID_UNIT, Hints
    from towerpace.bring.weather.hourly import HourlyPolicy
    from towerpace.bring.weather.record import Asked, bring_weather

    if (unit is None) == (form.value in UNSAID_UNIT):
        known = "of a format that says its own" if unit else f"missing for {form.value}"
        _refuse("--unit", known, "mph or m_s for lcd, nothing for the others")
    if not gust_limit and not mean_limit:
        _refuse("--gust-limit", "no limit", "at least one --gust-limit or --mean-limit, in m/s")
    work = _work_hours(days, hours=hours)
    _before(*files, out=out, replace=replace)
    hints = Hints(unit.value if unit else None, first_month.date() if first_month else None)
    read = [FORMATS[form.value](file, hints) for file in files]
    asked = Asked(
        height,
        HourlyPolicy(utc_offset, gusts is Gusts.reported, fill_gaps, leave_out, as_year),
        missing_gust_factor,
        tuple(gust_limit or ()),
        tuple(mean_limit or ()),
        work,
        unit_confirmed,
    )
    _after(ctx, bring_weather(read, asked=asked, name=out.name), out=out, replace=replace)


@app.command("quantities")
def quantities(
    ctx: typer.Context,
    file: Source,
    mapping: Annotated[Path, typer.Option("--map", help="What counts as what (TOML), see the manual.")],
    levels: Annotated[
        Path | None, typer.Option("--levels", help="A level table that the counts are put into.")
    ] = None,
    leave_out: Annotated[
        bool, typer.Option("--leave-out", help="Leave out elements in no level or zone, and list them.")
    ] = False,
    out: Annotated[Path, typer.Option("--out", help="The table to write.")] = Path("quantities.csv"),
    replace: Replace = False,
) -> None:
    """Bring in counts of panels and areas of linings from an open building model (IFC)."""
    from towerpace.bring.model.mapping import load_map
    from towerpace.bring.model.quantities import bring_quantities
    from towerpace.faults import InputError
    from towerpace.scenario.levels import levels_from
    from towerpace.scenario.tables import read_table

    sources = (file, mapping, levels) if levels else (file, mapping)
    _before(*sources, out=out, replace=replace)
    table = read_table(levels, shown_as=str(levels)) if levels else None
    if table is not None and (faults := levels_from(table)[1]):
        raise InputError(faults)
    brought = bring_quantities(file, mapped=load_map(mapping), leave_out=leave_out, levels=table)
    _after(ctx, dataclasses.replace(brought, sources=sources), out=out, replace=replace)


def _separator(said: str | None, *, decimal_comma: bool) -> str:
    if said is None:
        return ";" if decimal_comma else ","
    named = {"tab": "\t", "\\t": "\t"}.get(said, said)
    if len(named) != 1:
        _refuse("--separator", said, "one character, or tab")
    return named


def _pairs(said: list[str] | None, *, option: str) -> dict[str, str]:
    pairs: dict[str, str] = {}
    for text in said or ():
        ours, equals, theirs = text.partition("=")
        if not ours or ours in pairs or (option == "--set" and not equals):
            _refuse(option, text, "NAME=VALUE, each name once")
        pairs[ours] = theirs if equals else ours
    return pairs


def _work_hours(days: str, *, hours: str) -> WorkHours:
    from towerpace.bring.weather.checks import DAYS, WorkHours

    first, to, last = days.partition("-")
    names = days.split(",")
    if to and first in DAYS and last in DAYS[DAYS.index(first) :]:
        names = list(DAYS[DAYS.index(first) : DAYS.index(last) + 1])
    if not set(names) <= set(DAYS):
        _refuse("--days", days, "days as mon-sat or mon,wed,fri")
    begin, _, end = hours.partition("-")
    if not (begin.isdigit() and end.isdigit() and int(begin) < int(end) <= HOURS_A_DAY):
        _refuse("--hours", hours, "whole hours as 7-17")
    return WorkHours(tuple(sorted({DAYS.index(name) for name in names})), int(begin), int(end))


def _said(ctx: typer.Context) -> dict[str, Said]:
    """What the user said and what was taken where nothing was said, by the name of the option."""
    said: dict[str, Said] = {}
    for option in ctx.command.params:
        name, value = option.opts[0].lstrip("-"), ctx.params.get(option.name or "")
        if option.name in NOT_SAID or value in (None, [], (), ""):
            continue
        if isinstance(value, bool | int | float):
            said[name] = value
        elif isinstance(value, datetime):
            said[name] = f"{value:%Y-%m-%d}"
        else:
            said[name] = ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)
    return said


def _refuse(option: str, found: str, allowed: str) -> NoReturn:
    from towerpace.faults import Fault, InputError

    raise InputError([Fault("towerpace bring", None, option, f'"{found}"', allowed)])


def _before(*sources: Path, out: Path, replace: bool) -> None:
    """Refuse a source that is not there and a target that is, before any work."""
    from towerpace.bring.brought import target_faults
    from towerpace.faults import Fault, InputError, nearest_word

    faults = target_faults(out, sources=sources, replace=replace)
    for source in sources:
        if not source.is_file():
            siblings = [entry.name for entry in source.parent.iterdir()] if source.parent.is_dir() else []
            found = "a folder" if source.is_dir() else "missing file"
            nearest = nearest_word(source.name, siblings)
            faults.append(Fault(str(source), None, "file", found, "a file to bring in", nearest))
    if faults:
        raise InputError(faults)


def _folded(line: str) -> str:
    return fill(line, WIDTH, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)


def _after(ctx: typer.Context, brought: Brought, *, out: Path, replace: bool) -> None:
    """Write, and say how the source adds up."""
    from towerpace.bring.brought import write_brought

    written = write_brought(dataclasses.replace(brought, said=_said(ctx)), out=out, replace=replace)
    for line in (*(tally.text() for tally in brought.tallies), *brought.lines):
        typer.echo(_folded(line))
    if brought.left_out:
        typer.echo("left out:")
        for line in brought.left_out[:MOST_SHOWN]:
            typer.echo(_folded(f"  {line}"))
        if (more := len(brought.left_out) - MOST_SHOWN) > 0:
            typer.echo(f"  and {more:,} more, listed in {written[1].name}")
    for warning in brought.warnings:
        typer.echo(_folded(f"! {warning}"))
    typer.echo(f"\nWritten: {written[0]} and {written[1]}")
