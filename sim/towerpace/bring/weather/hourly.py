"""Reports of some files dealt into the hours of whole years: the table that our record is written from."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby

from towerpace.bring.refusals import refuse
from towerpace.bring.weather.reports import Reports, StationReport
from towerpace.climate.columns import QUANTITIES
from towerpace.faults import Fault

HOUR = dt.timedelta(hours=1)
LEAP_DAY = 2, 29
# A report tells of the minutes before it: one made at 08:00 belongs to the hour from 07:00.
BEFORE = dt.timedelta(minutes=1)
LEAST_OF_A_YEAR = 0.5
_SPEEDS = QUANTITIES["speed"], QUANTITIES["gust"]


@dataclass(frozen=True, slots=True)
class HourlyPolicy:
    """What the user says where no file does.

    Parameters
    ----------
    utc_offset_h : float or None
        Local standard time of the site against UTC. [h]
    gusts : bool
        Whether reported gusts are used; without them all are blank and the scenario's factor on the mean
        stands in.
    fill_h : int
        Longest run of missing hours that repeats the hour before it. [h]
    leave_out : bool
        Whether reports that cannot be true are left out.
    as_year : int or None
        Year that the months of a typical year are put into.
    """

    utc_offset_h: float | None
    gusts: bool
    fill_h: int = 0
    leave_out: bool = False
    as_year: int | None = None


@dataclass(slots=True)
class Hourly:
    """Hours of whole years in order.

    Parameters
    ----------
    hours : list of (datetime, StationReport)
        Beginning of each hour in local standard time, and what was reported in it.
    reports, used : int
        Reports of all files, and those in the hours.
    left_out : Counter
        The other reports by reason.
    lines_out : list of str
        What was left out or filled, a line each.
    several : int
        Hours with more than one report.
    filled : set of datetime
        Hours that repeat the one before.
    """

    hours: list[tuple[dt.datetime, StationReport]] = field(default_factory=list)
    reports: int = 0
    used: int = 0
    left_out: Counter[str] = field(default_factory=Counter)
    lines_out: list[str] = field(default_factory=list)
    several: int = 0
    filled: set[dt.datetime] = field(default_factory=set)


def hourly(files: Sequence[Reports], *, policy: HourlyPolicy) -> Hourly:
    """Deal the reports of one station into hours.

    Notes
    -----
    An hour has the highest speed and gust and the most rain of its reports, the least visibility and the last
    temperature. A gust below that speed, as where one report has a gust and another a higher mean, is blank.
    Years with fewer than half their hours are left out; in the others every hour must be there.

    Raises
    ------
    InputError
        With every report that cannot be true and every hour that is missing, unless the policy says what
        becomes of them.
    """
    found = Hourly(reports=sum(len(one.reports) for one in files))
    good = [pair for one in files for pair in _placed(one, policy=policy, found=found)]
    by_hour: dict[dt.datetime, list[StationReport]] = {}
    for hour, report in sorted(good, key=lambda pair: (pair[0], pair[1].made)):
        by_hour.setdefault(hour, []).append(report)
    years = _whole_years(by_hour)
    for hour in [hour for hour in by_hour if hour.year not in years]:
        found.left_out["outside the whole years"] += len(by_hour.pop(hour))
    found.used = found.reports - sum(found.left_out.values())
    found.several = sum(len(reports) > 1 for reports in by_hour.values())
    merged = {hour: _merged(reports) for hour, reports in by_hour.items()}
    _filled(merged, years=years, found=found, policy=policy, file=str(files[0].path))
    return found


def _placed(one: Reports, *, policy: HourlyPolicy, found: Hourly) -> list[tuple[dt.datetime, StationReport]]:
    """Each good report with the local hour that it tells of."""
    shift = dt.timedelta(hours=(policy.utc_offset_h or 0.0) if one.clock == "UTC" else 0.0)
    faults, placed = [], []
    for report in one.reports:
        hour = (report.made + shift - BEFORE).replace(minute=0, second=0, microsecond=0)
        fault = _untrue(report, one=one, gusts=policy.gusts)
        if report.speed is None:
            found.left_out["without a speed"] += 1
        elif (hour.month, hour.day) == LEAP_DAY:
            found.left_out["on 29 February"] += 1
        elif fault is not None and policy.leave_out:
            found.left_out["that cannot be true"] += 1
            found.lines_out.append(f"{one.path.name} {fault.text()}")
        elif fault is not None:
            faults.append(fault)
        else:
            hour = hour if policy.as_year is None else hour.replace(year=policy.as_year)
            placed.append((hour, report if policy.gusts else replace(report, gust=None)))
    refuse(faults)
    return placed


def _untrue(report: StationReport, *, one: Reports, gusts: bool) -> Fault | None:
    """A speed or gust that no hour has, or a gust below its speed."""
    file, hint = str(one.path), ", or --leave-out"
    for quantity, value in zip(_SPEEDS, (report.speed, report.gust if gusts else None), strict=True):
        if value is None:
            continue
        high = quantity.high / quantity.units[one.unit]
        if not 0 <= value <= high:
            allowed = f"a number from 0 to {high:.4g} {one.unit}{hint}"
            return Fault(file, report.line, quantity.stem, f"{value:g}", allowed)
    if gusts and report.gust is not None and report.speed is not None and report.gust < report.speed:
        found = f"{report.gust:g} with a speed of {report.speed:g}"
        return Fault(file, report.line, "wind_gust", found, f"a gust of at least the speed{hint}")
    return None


def _whole_years(by_hour: Iterable[dt.datetime]) -> list[int]:
    counts = Counter(hour.year for hour in by_hour)
    years = [year for year, count in counts.items() if count >= LEAST_OF_A_YEAR * 8760]
    return list(range(min(years), max(years) + 1)) if years else []


def _merged(reports: Sequence[StationReport]) -> StationReport:
    def values(key: str) -> list[float]:
        return [value for report in reports if (value := getattr(report, key)) is not None]

    speed, gust = max(values("speed")), max(values("gust"), default=None)
    temperatures = values("temperature_c")
    thunder = [report.thunder for report in reports if report.thunder is not None]
    return StationReport(
        reports[-1].line,
        reports[-1].made,
        speed,
        None if gust is None or gust < speed else gust,
        temperature_c=temperatures[-1] if temperatures else None,
        rain_mm=max(values("rain_mm"), default=None),
        visibility_km=min(values("visibility_km"), default=None),
        thunder=any(thunder) if thunder else None,
    )


def _filled(
    merged: Mapping[dt.datetime, StationReport],
    *,
    years: Sequence[int],
    found: Hourly,
    policy: HourlyPolicy,
    file: str,
) -> None:
    """Put the hours in order; short gaps repeat the hour before them, longer ones are faults."""
    if not years:
        allowed = "at least half a calendar year of reports"
        refuse([Fault(file, None, "hours", f"{len(merged):,} hours with a speed", allowed)])
    faults = []
    for there, run in groupby(_hours(years[0], years[-1]), key=lambda hour: hour in merged):
        hours = list(run)
        if there:
            found.hours += [(hour, merged[hour]) for hour in hours]
        elif len(hours) > policy.fill_h:
            faults.append(_gap_fault(hours, file=file))
        else:
            before = found.hours[-1][1] if found.hours else merged[min(merged)]
            found.hours += [(hour, before) for hour in hours]
            found.filled |= set(hours)
            found.lines_out.append(f"filled: {hours[0]:%Y-%m-%d %H:00}, {len(hours)} h as the hour before")
    refuse(faults)


def _gap_fault(hours: Sequence[dt.datetime], *, file: str) -> Fault:
    key = f"{hours[0]:%Y-%m-%d %H:00}" + (f" to {hours[-1]:%Y-%m-%d %H:00}" if len(hours) > 1 else "")
    found = f"missing {len(hours):,} hour{'s' if len(hours) > 1 else ''}"
    allowed = f"every hour of whole years; --fill-gaps {len(hours)} repeats the hour before"
    return Fault(file, None, key, found, allowed)


def _hours(first_year: int, last_year: int) -> Iterator[dt.datetime]:
    """Every hour of the years without 29 February, as the record has them."""
    hour, end = dt.datetime(first_year, 1, 1), dt.datetime(last_year + 1, 1, 1)
    while hour < end:
        if (hour.month, hour.day) != LEAP_DAY:
            yield hour
        hour += HOUR
