"""Everything that a site has written down, read together: faults of all its files at once."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path

import numpy as np

from towerpace.faults import Fault, InputError
from towerpace.plan.site.tower import Tower
from towerpace.plan.site.weather import weather_of
from towerpace.record.log import Log, LogReader, Remark
from towerpace.record.moments import end_of
from towerpace.record.progress import Progress, read_progress
from towerpace.record.quarrels import quarrels
from towerpace.record.step_index import index_of
from towerpace.record.wind import SiteHours, WindReader
from towerpace.record.words import Words
from towerpace.scenario.load import Scenario


@dataclass(frozen=True)
class SiteRecord:
    """What a site has written down up to a data date.

    Attributes
    ----------
    start, at : date
        First day of the scenario; the data date, whose end is the first minute that is not known.
    progress, log, hours
        The sheet, the log (empty without a file), the measured hours (None without a file).
    words : Words
        What may be reported.
    remarks : tuple of Remark
        What is doubtful about the files.
    hash : str
        SHA-256 of the content of all files, hexadecimal.
    """

    start: dt.date
    at: dt.date
    progress: Progress
    log: Log
    hours: SiteHours | None
    words: Words
    remarks: tuple[Remark, ...]
    hash: str

    @property
    def until(self) -> int:
        """First minute after the data date. [min]"""
        return end_of(self.at, start=self.start)

    @property
    def logged_until(self) -> int:
        """First minute after the last day that the log tells of, not after the data date. [min]

        A log that was kept no longer says nothing of how long its last rows went on: a later sheet may not.
        """
        return min(self.until, end_of(self.log.last_day(self.start), start=self.start))

    def beside(self, file: Path) -> SiteRecord:
        """The same with one file more in its hash."""
        return replace(self, hash=sha256(f"{self.hash}:".encode() + file.read_bytes()).hexdigest())

    def as_of(self, day: dt.date) -> SiteRecord:
        """The record as it stood at the end of an earlier day."""
        until = end_of(day, start=self.start)
        return replace(self, at=day, progress=self.progress.until(day), log=self.log.until(until))


def read_site_record(
    scenario: Scenario,
    tower: Tower,
    *,
    progress: Path | None,
    log: Path | None = None,
    wind: Path | None = None,
    at: dt.date | None = None,
) -> SiteRecord:
    """Read the files of a site.

    Parameters
    ----------
    scenario, tower
        What was planned: it says what may be reported, and of how many units.
    progress, log, wind : Path
        The files; the last two may lack, or the sheet where there is a log.
    at : date, optional
        The data date; by default the last day of the sheet, or of the log alone. What was written later is
        left out.

    Raises
    ------
    InputError
        With every fault of all files.
    """
    start, faults = scenario.settings.tower.start, _missing(progress, log, wind)
    if faults:
        raise InputError(faults)
    words = Words.of(scenario, tower, index_of(tower.plan))
    sheet, faults = Progress("", ()), list[Fault]()
    if progress is not None:
        sheet, faults = read_progress(progress, words=words, start=start)
    last = max([*sheet.days[-1:], *([at] if at else [])], default=start)
    faults += _at_faults(at, sheet)
    # While days of the sheet cannot be read, nobody knows what lies after the last of them.
    until = tower.plan.horizon if faults or progress is None else end_of(last, start=start)
    zone = scenario.settings.tower.time_zone
    read_log, remarks = Log(""), list[Remark]()
    if log is not None:
        reader = LogReader(words=words, start=start, until=until, zone=zone)
        read_log, more = reader.read(log)
        faults += more or quarrels(sheet, read_log, words=words, start=start)
        if progress is None:
            last = max(last, read_log.last_day(start))
    hours = None
    if wind is not None:
        hours_reader = wind_reader(scenario, until=end_of(at or last, start=start))
        hours, remarks = hours_reader.read(wind)
        faults += hours_reader.faults
    if faults:
        raise InputError(faults)
    record = SiteRecord(
        start, last, sheet, read_log, hours, words, tuple(remarks), _hash(progress, log, wind)
    )
    return record if at is None or at >= last else record.as_of(at)


def _missing(*paths: Path | None) -> list[Fault]:
    return [
        Fault(str(path), None, "file", "missing file", "a CSV file")
        for path in paths
        if path is not None and not path.is_file()
    ]


def _at_faults(at: dt.date | None, sheet: Progress) -> list[Fault]:
    if at is None or not sheet.days or at >= sheet.days[0]:
        return []
    allowed = f"a day on or after the first of {sheet.file}, {sheet.days[0]}"
    return [Fault("command line", None, "at", str(at), allowed)]


def wind_reader(scenario: Scenario, *, until: int) -> WindReader:
    """A reader of hours of the site. until : first minute that it reads no more. [min]"""
    weather, source = scenario.settings.weather, weather_of(scenario)
    tower = scenario.settings.tower
    usual = None if source is None else float(np.median(source.record.speed_m_s))
    offset_h = 0.0 if weather is None else float(weather.utc_offset_h)
    return WindReader(tower.start, until, tower.time_zone, offset_h, usual)


def _hash(*paths: Path | None) -> str:
    """Of the content of the files that there are, each under its place."""
    digest = sha256()
    for number, path in enumerate(paths):
        if path is not None:
            digest.update(f"{number}:".encode() + path.read_bytes())
    return digest.hexdigest()
