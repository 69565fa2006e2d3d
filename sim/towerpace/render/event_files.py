"""The event log in files: CSV, Parquet, and XES for the mining of processes (IEEE 1849-2016).

All are written trial by trial, so that a log may be larger than memory.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import astuple
from datetime import datetime
from importlib import import_module
from itertools import groupby
from pathlib import Path
from typing import Any, Protocol
from xml.sax.saxutils import quoteattr

from towerpace.answers.events.event_log import COLUMNS, Event

SITE = "site"  # the trace of what belongs to no front
_EXTENSIONS = (
    ("Concept", "concept"),
    ("Lifecycle", "lifecycle"),
    ("Organizational", "org"),
    ("Time", "time"),
)


class EventFile(Protocol):
    """A file that takes the events of one trial after the other."""

    def add(self, events: Sequence[Event]) -> None:
        """Write the events of a trial."""

    def close(self) -> None:
        """Write what ends the file."""


class CsvFile:
    """A row an event, times as 2027-03-01T07:00, cells empty where there is nothing."""

    def __init__(self, path: Path) -> None:
        self._file = path.open("w", encoding="utf-8", newline="")
        self._rows = csv.writer(self._file, lineterminator="\n")
        self._rows.writerow(COLUMNS)

    def add(self, events: Sequence[Event]) -> None:
        """Write the events of a trial."""
        self._rows.writerows([_cell(value) for value in astuple(event)] for event in events)

    def close(self) -> None:
        """Close the file."""
        self._file.close()


def _cell(value: object) -> object:
    if isinstance(value, datetime):
        return value.isoformat(timespec="minutes")
    return "" if value is None else value


class ParquetFile:
    """The same columns with their types; a row group a trial."""

    def __init__(self, path: Path) -> None:
        pa, pq = import_module("pyarrow"), import_module("pyarrow.parquet")
        whole, text, moment = pa.int64(), pa.string(), pa.timestamp("s")
        types = dict.fromkeys(COLUMNS, text) | dict.fromkeys(("trial", "level", "wait_min"), whole)
        types |= dict.fromkeys(("ready", "started", "finished"), moment)
        self._pa: Any = pa
        self._schema = pa.schema(list(types.items()))
        self._file = pq.ParquetWriter(path, self._schema)

    def add(self, events: Sequence[Event]) -> None:
        """Write the events of a trial."""
        columns = list(zip(*map(astuple, events), strict=True)) or [() for _ in COLUMNS]
        arrays = [self._pa.array(c, type=f.type) for c, f in zip(columns, self._schema, strict=True)]
        self._file.write_table(self._pa.Table.from_arrays(arrays, schema=self._schema))

    def close(self) -> None:
        """Close the file."""
        self._file.close()


class XesFile:
    """A trace for every front of every trial, and one a trial for what belongs to no front.

    A step is up to three events of one `concept:instance`: it comes due (schedule), begins and is complete.
    """

    def __init__(self, path: Path) -> None:
        self._file = path.open("w", encoding="utf-8", newline="\n")
        self._file.write(
            '<?xml version="1.0" encoding="UTF-8"?>\n<log xes.version="1849.2016" xes.features="">\n'
        )
        for name, prefix in _EXTENSIONS:
            uri = f"http://www.xes-standard.org/{prefix}.xesext"
            self._file.write(f'<extension name="{name}" prefix="{prefix}" uri="{uri}"/>\n')
        self._file.write(
            '<global scope="trace"><string key="concept:name" value=""/></global>\n'
            '<global scope="event"><string key="concept:name" value=""/>'
            '<string key="lifecycle:transition" value="complete"/>'
            '<date key="time:timestamp" value="1970-01-01T00:00:00"/></global>\n'
            '<classifier name="Step" scope="event" keys="concept:name lifecycle:transition"/>\n'
            '<string key="lifecycle:model" value="standard"/>\n'
        )

    def add(self, events: Sequence[Event]) -> None:
        """Write the events of a trial."""
        for front, steps in groupby(sorted(events, key=_front), key=_front):
            where = f"L{front[0]} {front[1]}".strip() if front[0] > _NOWHERE else SITE
            trial = events[0].trial
            self._file.write(f"<trace>{_text('concept:name', f'trial {trial}, {where}')}\n")
            self._file.write(f"{_number('trial', trial)}\n")
            for moment in sorted(_moments(list(steps)), key=lambda moment: moment[:2]):
                self._file.write(_event(*moment[2:], at=moment[0]))
            self._file.write("</trace>\n")

    def close(self) -> None:
        """End the log."""
        self._file.write("</log>\n")
        self._file.close()


_NOWHERE = -1_000_000


def _front(event: Event) -> tuple[int, str]:
    return (_NOWHERE if event.level is None else event.level, event.zone)


def _moments(steps: Sequence[Event]) -> Iterator[tuple[datetime, int, Event, str]]:
    """When each step came due, began and was complete, those in the order in which they must stand."""
    for k, step in enumerate(steps):
        times = (step.ready, step.started, step.finished)
        for j, (at, transition) in enumerate(zip(times, ("schedule", "start", "complete"), strict=True)):
            if at is not None:
                yield at, 3 * k + j, step, transition


def _event(step: Event, transition: str, *, at: datetime) -> str:
    name = f"{step.trade}: {step.kind}" if step.trade and step.trade != step.kind else step.kind
    lines = [
        _text("concept:name", name),
        _text("concept:instance", step.step),
        _text("lifecycle:transition", transition),
        f'<date key="time:timestamp" value="{at.isoformat(timespec="seconds")}"/>',
    ]
    if step.units and transition != "schedule":
        lines.append(_text("org:resource", step.units))
    if transition == "start":
        lines += [
            _number("wait_min", step.wait_min),
            _text("cause", step.cause),
            _text("causes", step.causes),
        ]
    return f"<event>{''.join(lines)}</event>\n"


def _text(key: str, value: str) -> str:
    return f'<string key="{key}" value={quoteattr(value)}/>'


def _number(key: str, value: int) -> str:
    return f'<int key="{key}" value="{value}"/>'


FORMATS: dict[str, type[CsvFile | ParquetFile | XesFile]] = {
    "csv": CsvFile,
    "parquet": ParquetFile,
    "xes": XesFile,
}
