"""Weather files turned into a record of the scenario, with what it says at the user's limits."""

import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from towerpace.bring.brought import Brought, Tally
from towerpace.bring.refusals import refuse
from towerpace.bring.weather.checks import WorkHours, clock_doubt, stop_lines, stops_at, unit_doubt
from towerpace.bring.weather.hourly import Hourly, HourlyPolicy, hourly
from towerpace.bring.weather.record_text import record_text
from towerpace.bring.weather.reports import Reports
from towerpace.bring.weather.year_factor import YearFactor, year_factor_of
from towerpace.climate.knots import whole_knot_share
from towerpace.climate.record import LEAST_WHOLE_KNOT_SHARE, Record, read_record
from towerpace.faults import Fault

FEW_YEARS = 5
# With it 85 to 95 % of the other years lay in the 90 % band of three years: 8 years of an airport,
# 17 of a reanalysis over Ireland.
FACTOR_OF_FEW_YEARS = 0.03


@dataclass(frozen=True, slots=True)
class Asked:
    """What the user says of the files and asks of the record.

    Parameters
    ----------
    height_m : float or None
        Of the instrument, where the file does not say it. [m]
    policy : HourlyPolicy
        Clock, gusts, gaps.
    missing_gust_factor : float
        Gust over mean where no gust was reported. [-]
    gust_limits, mean_limits : tuple of float
        At least one in all. [m/s]
    work : WorkHours
        Hours that are counted.
    unit_confirmed : bool
        Whether an unlikely mean wind is right.
    """

    height_m: float | None
    policy: HourlyPolicy
    missing_gust_factor: float
    gust_limits: tuple[float, ...]
    mean_limits: tuple[float, ...]
    work: WorkHours
    unit_confirmed: bool


def bring_weather(files: Sequence[Reports], *, asked: Asked, name: str) -> Brought:
    """A weather record from the files of one station.

    Parameters
    ----------
    files
        As read, of one format.
    asked
        What the user says.
    name
        Name of the record to be written, for the lines of the scenario.

    Raises
    ------
    InputError
        With all that is not said or said against the file, all hours that are missing or cannot be true, or
        an unlikely mean wind that nobody confirmed.
    """
    refuse([*_unsaid(files, asked=asked)])
    height_m = files[0].height_m or asked.height_m or 0.0
    hours = hourly(files, policy=asked.policy)
    text, blanks = record_text(hours, unit=files[0].unit, height_m=height_m, fill_h=asked.policy.fill_h)
    record = _read(text, factor=asked.missing_gust_factor)
    doubt = unit_doubt(record)
    if doubt is not None and not asked.unit_confirmed:
        allowed = "a likely mean, or --unit-confirmed"
        refuse([Fault(str(files[0].path), None, f"unit {files[0].unit}", doubt, allowed)])
    factor = year_factor_of(record) if len(record.years) > 1 else None
    return Brought(
        text=text,
        sources=tuple(one.path for one in files),
        tallies=(_tally(files, hours=hours),),
        left_out=tuple(hours.lines_out),
        lines=tuple(
            _lines(record, hours=hours, blanks=blanks, asked=asked, factor=factor, name=name, file=files[0])
        ),
        warnings=tuple(_warnings(files, record=record, doubt=doubt, factor=factor)),
    )


def _unsaid(files: Sequence[Reports], *, asked: Asked) -> Iterator[Fault]:
    """What no file says and the user must, and what is said twice and differently."""
    for one in files:
        file = str(one.path)
        offset_h = asked.policy.utc_offset_h
        if offset_h is None and (one.clock == "UTC" or one.utc_offset_h is None):
            clock = "UTC" if one.clock == "UTC" else "a standard time that it does not name"
            found = f"missing, the file is in {clock}"
            yield Fault(file, None, "--utc-offset", found, "hours of local standard time from UTC, as -5")
        if offset_h is not None and one.utc_offset_h not in (None, offset_h):
            yield Fault(
                file, None, "--utc-offset", f"{offset_h:g}", f"{one.utc_offset_h:g}, as the file says"
            )
        if asked.height_m is None and one.height_m is None:
            yield Fault(file, None, "--height", "missing", "metres of the instrument above ground, mostly 10")
        if asked.height_m is not None and one.height_m not in (None, asked.height_m):
            yield Fault(file, None, "--height", f"{asked.height_m:g}", f"{one.height_m:g}, as the file says")
        if asked.policy.gusts and not one.gusts:
            yield Fault(file, None, "--gusts", "reported, of a file without gusts", "--gusts none")
        if one.typical_of and asked.policy.as_year is None:
            found = f"missing, for months of {one.typical_of[0]} to {one.typical_of[-1]}"
            yield Fault(file, None, "--as-year", found, "the year to put a typical year into, as 2001")
        if asked.policy.as_year is not None and not one.typical_of:
            yield Fault(
                file, None, "--as-year", f"{asked.policy.as_year}", "nothing for a file of real years"
            )
        if (one.unit, one.height_m) != (files[0].unit, files[0].height_m):
            found = f"{one.unit}, the first file {files[0].unit}"
            yield Fault(file, None, "unit", found, "files of one station, alike in unit and height")


def _read(text: str, *, factor: float) -> Record:
    """The record as a scenario will read it: whatever this refuses is not written."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "record.csv"
        path.write_text(text, encoding="utf-8")
        return read_record(path, missing_gust_factor=factor, knots=False, needed=(), shown_as="the record")


def _tally(files: Sequence[Reports], *, hours: Hourly) -> Tally:
    left_out = hours.left_out + sum((one.left_out for one in files), Counter[str]())
    return Tally("reports", hours.used + sum(left_out.values()), hours.used, left_out)


def _lines(
    record: Record,
    *,
    hours: Hourly,
    blanks: Mapping[str, tuple[int, int]],
    asked: Asked,
    factor: YearFactor | None,
    name: str,
    file: Reports,
) -> Iterator[str]:
    years = str(record.years[0]) + (f" to {record.years[-1]}" if len(record.years) > 1 else "")
    several = f"{hours.several:,} of several reports"
    yield f"{len(hours.hours):,} hours of {years}: {len(hours.filled)} filled, {several}"
    mean = f"mean wind {record.speed_m_s.mean():.4g} m/s"
    yield f"{mean}, a gust reported in {100 * record.gust_reported.mean():.1f} % of the hours"
    for column, (before, after) in blanks.items():
        if before:
            yield f"{column}: {before:,} hours blank in the source, {after:,} in the record"
    yield ""
    stops = stops_at(record, gust_limits=asked.gust_limits, mean_limits=asked.mean_limits, work=asked.work)
    yield from stop_lines(stops, record=record, work=asked.work)
    if factor is not None:
        yield ""
        yield from _factor_lines(factor)
    yield ""
    yield from _scenario_lines(record, asked=asked, factor=factor, name=name, file=file)


def _factor_lines(factor: YearFactor) -> Iterator[str]:
    yield f"Year factor, measured on {factor.years} years"
    interval = f"90 % interval {100 * factor.low:.1f} to {100 * factor.high:.1f} %"
    yield f"  annual means differ by {100 * factor.measured_sd:.1f} % ({interval})"
    yield f"  blocks of 7 days within 30 of the season give {100 * factor.blocks_sd:.1f} % of that themselves"
    yield f"  left for the factor: {100 * factor.year_factor_sd:.1f} %"


def _scenario_lines(
    record: Record, *, asked: Asked, factor: YearFactor | None, name: str, file: Reports
) -> Iterator[str]:
    """What goes into the scenario with the record."""
    offset_h = file.utc_offset_h if file.utc_offset_h is not None else asked.policy.utc_offset_h
    in_knots = file.unit != "km_h" and whole_knot_share(record.speed_m_s) >= LEAST_WHOLE_KNOT_SHARE
    yield "In [weather] of the scenario"
    yield f'  record = "{name}"'
    yield f"  record_height_m = {record.height_m:g}"
    yield f"  utc_offset_h = {offset_h or 0:g}"
    yield f"  missing_gust_factor = {asked.missing_gust_factor:g}"
    if in_knots:
        yield "  knots = true"
    if factor is not None:
        yield f"  year_factor_sd = {factor.year_factor_sd:.3f}"


def _warnings(
    files: Sequence[Reports], *, record: Record, doubt: str | None, factor: YearFactor | None
) -> Iterator[str]:
    for note in dict.fromkeys(note for one in files for note in one.notes):
        yield note[0].upper() + note[1:]
    if doubt is not None:
        yield f"The unit {files[0].unit} was confirmed: {doubt}"
    if clock := clock_doubt(record):
        yield clock
    if factor is not None and factor.years < FEW_YEARS:
        yield (
            f"{factor.years} years say little of how years differ: see the interval. Two longer records of "
            f"other places ask for {FACTOR_OF_FEW_YEARS:g} with 2 to 4 years of record"
        )
    yield (
        "Wind limits are planning inputs, never permission to lift: makers' limits, the lift plan, local law "
        "and the person on site govern."
    )
