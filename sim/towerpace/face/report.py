"""One report of saved answers: a page that stands alone, a PDF, a workbook and a calendar of the same."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from towerpace.faults import Fault, InputError
from towerpace.render.page.calendar_file import can_date, write_calendar
from towerpace.render.page.model import Page
from towerpace.render.page.page import check_targets, html_of, page_of, read_parts, write_page
from towerpace.render.page.print import can_print, write_pdf
from towerpace.render.page.sheet import can_sheet, write_sheet
from towerpace.render.page.spreadsheet import can_tabulate, write_workbook

Place = str | os.PathLike[str]


@dataclass(frozen=True)
class Report:
    """A report that has been written.

    page : its content as plain data. written : the files. failed : what could not be written, in words.
    is_for_want : of room or rights where it was to be written, all that failed.
    """

    page: Page
    written: tuple[Path, ...]
    failed: tuple[str, ...] = ()
    is_for_want: bool = False

    def _repr_html_(self) -> str:
        return html_of(self.page)


def report(
    results: Place | Sequence[Place],
    *,
    out: Place | None = None,
    pdf: Place | None = None,
    xlsx: Place | None = None,
    ics: Place | None = None,
    sheet: Place | None = None,
) -> Report:
    """Write a report that stands alone, from saved results only.

    Parameters
    ----------
    results : path or sequence of paths
        Results folders of one scenario; the first gives the report its name.
    out, pdf, xlsx, ics : path, optional
        The page, by default beside the first folder; where they are asked for a PDF with the extra `report`,
        a workbook with the extra `spreadsheet`, and the days of the answers as iCalendar (RFC 5545).
    sheet : path, optional
        One side of paper for a meeting, as HTML to print: of the first results, if they have one.

    Returns
    -------
    Report
        The files that were written. One that fails does not take the others along.

    Raises
    ------
    InputError
        With every fault of every folder, for an extra that is not installed, where no file can be written, or
        for a calendar of answers without a date.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from towerpace import forecast, load, report
    >>> with TemporaryDirectory() as place:
    ...     folder = forecast(load("scenarios/one_trade/scenario.toml"), trials=20).save(f"{place}/run")
    ...     [path.name for path in report(folder).written]
    ['run.html']
    """
    folders = [results] if isinstance(results, str | os.PathLike) else list(results)
    if not folders:
        raise InputError([Fault("report", None, "results", "no folder", "at least one results folder")])
    first = Path(folders[0]).resolve()
    target = first.with_name(f"{first.name}.html") if out is None else Path(out)
    targets = [place for place in (target, pdf, xlsx, ics, sheet) if place is not None]
    missing = [*(can_print() if pdf is not None else []), *(can_tabulate() if xlsx is not None else [])]
    if faults := [*check_targets(targets), *missing]:
        raise InputError(faults)
    parts = read_parts(folders)
    if ics is not None and (faults := can_date(parts)):
        raise InputError(faults)
    if sheet is not None and (faults := can_sheet(parts[0])):
        raise InputError(faults)
    page = page_of(parts)
    writers = [partial(write_page, page, target)]
    if pdf is not None:
        writers.append(partial(write_pdf, page, pdf))
    if xlsx is not None:
        writers.append(partial(write_workbook, parts, xlsx))
    if sheet is not None:
        writers.append(partial(write_sheet, parts[0], sheet))
    if ics is not None:
        writers.append(partial(write_calendar, parts, ics))
    return _written(page, zip(targets, writers, strict=True))


def _written(page: Page, writers: Iterable[tuple[Place, Callable[[], Path]]]) -> Report:
    written: list[Path] = []
    failed: list[str] = []
    errors: list[Exception] = []
    for target, write in writers:
        try:
            written.append(write())
        except (InputError, OSError, RuntimeError) as error:
            errors.append(error)
            reason = error.strerror if isinstance(error, OSError) else None
            failed.append(f"{target}: {reason}" if reason else str(error))
    is_for_want = all(isinstance(error, OSError) for error in errors)
    return Report(page, tuple(written), tuple(failed), is_for_want)
