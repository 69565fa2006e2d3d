"""Where the log and the sheet say different things about one place: both lines are named."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator

from towerpace.faults import Fault
from towerpace.record.log import LEFT_OUT, Entry, Log
from towerpace.record.moments import end_of
from towerpace.record.progress import Progress, Report
from towerpace.record.words import HANDOVER, How, Place, Words


def quarrels(sheet: Progress, log: Log, *, words: Words, start: dt.date) -> list[Fault]:
    """Work that the log calls finished, and a later sheet does not.

    start : first day of the scenario.
    """
    reports: dict[Place, list[Report]] = defaultdict(list)
    for report in sheet.reports:
        reports[report.place].append(report)
    finished: dict[Place, list[Entry]] = defaultdict(list)
    for entry in log.entries:
        if entry.finish is not None and entry.outcome != LEFT_OUT:
            finished[entry.place].append(entry)
    faults: list[Fault] = []
    for place, entries in finished.items():
        for report in reports[place]:
            faults += _of_place(report, entries, words=words, start=start, files=(sheet.file, log.file))
    return list(dict.fromkeys(faults))


def _of_place(
    report: Report, entries: list[Entry], *, words: Words, start: dt.date, files: tuple[str, str]
) -> Iterator[Fault]:
    """The quarrel of one row of the sheet with the entries that were finished by then."""
    until = end_of(report.day, start=start)
    by_then = [entry for entry in entries if entry.finish is not None and entry.finish.latest <= until]
    least, last = _logged(by_then, total=words.totals[report.place])
    how = words.words[report.place.what].how
    if last is None or how in (How.TRIES, How.EVENT, How.NOW) or report.amount.units >= least:
        return
    all_of_it = not last.panels or report.place.what == HANDOVER
    found = f"{report.amount.said} for {report.place.said} on {report.day}"
    logged = "finished" if all_of_it else f"{least:g} panels set"
    allowed = f"at least what {files[1]} line {last.line} says: {logged}"
    yield Fault(files[0], report.line, "done", found, allowed)


def _logged(entries: list[Entry], *, total: float) -> tuple[float, Entry | None]:
    """Units that some entries finish at one place, and the last of the entries."""
    if not entries:
        return 0.0, None
    last = max(entries, key=lambda entry: entry.finish.minute if entry.finish else 0)
    whole = next((entry for entry in entries if not entry.panels), None)
    if whole is not None:
        return total, whole
    return float(len({panel for entry in entries for panel in entry.panels})), last
