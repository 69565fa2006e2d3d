"""What a command writes, read by other programs by the kind of file: no name may have become more.

A cell of a table that a spreadsheet would work out, a mark of a page, a key of a file: each fails here.
"""

from __future__ import annotations

import csv
import json
import re
import tomllib
from collections.abc import Callable, Mapping
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import icalendar
import networkx
import openpyxl
from pyarrow import parquet

from render.page_reader import EMPTY

SVG = "{http://www.w3.org/2000/svg}"
# Controls of a terminal (ISO/IEC 6429, from memory); new lines and tabs move no more than the eye.
ORDERS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f]")
# OWASP, "CSV Injection" (from memory).
WORKED_OUT = re.compile(r"[=+\-@\t\r]")
NUMBER = re.compile(r"[+-]?[\d.]+(e[+-]?\d+)?", re.IGNORECASE)
FOR_PROGRAMS = ("events.csv",)  # a log says words as they are


def read_back(path: Path) -> None:
    """Read a file; AssertionError, or the error of its reader, where something is wrong with it."""
    READERS[path.suffix](path)


def said_safely(text: str) -> None:
    """What a terminal is sent holds no order to it, and no fault of ours."""
    assert not ORDERS.search(text)
    assert "Traceback" not in text


def _csv(path: Path) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        header, *rows = csv.reader(file, strict=True)
    assert {len(row) for row in rows} <= {len(header)}
    if path.name in FOR_PROGRAMS:
        return
    cells = [cell for row in rows for cell in row]
    worked_out = [c for c in cells if WORKED_OUT.match(c) and len(c) > 1 and not NUMBER.fullmatch(c)]
    assert worked_out == []


def _svg(path: Path) -> None:
    elements = list(ElementTree.parse(path).iter())
    tags = {element.tag.removeprefix(SVG) for element in elements}
    assert not tags & {"script", "foreignObject", "a"}
    links = [value for element in elements for name, value in element.items() if name.endswith("href")]
    assert all(link.startswith(("#", "data:image/png;base64,")) for link in links)


def read_html(text: str) -> None:
    """Every element that is opened is closed, and none of them runs or fetches anything."""
    open_now: list[str] = []

    class Reader(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            assert tag not in ("script", "iframe", "object", "embed")
            assert not [name for name, _ in attrs if name.startswith("on")]
            open_now.extend([] if tag in EMPTY else [tag])

        def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            self.handle_starttag(tag, attrs)
            if tag not in EMPTY:
                self.handle_endtag(tag)

        def handle_endtag(self, tag: str) -> None:
            assert open_now.pop() == tag

    reader = Reader()
    reader.feed(text)
    reader.close()
    assert open_now == []


def _workbook(path: Path) -> None:
    for sheet in openpyxl.load_workbook(path):
        kinds = {(cell.data_type, cell.hyperlink) for row in sheet for cell in row}
        assert kinds <= {(kind, None) for kind in "snbd"}


def _calendar(path: Path) -> None:
    (calendar,) = icalendar.Calendar.from_ical(path.read_bytes(), multiple=True)
    kinds = {"VCALENDAR", "VEVENT", "VTIMEZONE", "STANDARD", "DAYLIGHT"}
    assert {part.name for part in calendar.walk()} <= kinds
    assert calendar.errors == []
    assert all(part.errors == [] for part in calendar.walk("VEVENT"))


def _start(begins: bytes) -> Callable[[Path], None]:
    def starts(path: Path) -> None:
        assert path.read_bytes().startswith(begins)

    return starts


READERS: Mapping[str, Callable[[Path], object]] = {
    ".csv": _csv,
    ".svg": _svg,
    ".html": lambda path: read_html(path.read_text(encoding="utf-8")),
    ".xlsx": _workbook,
    ".ics": _calendar,
    ".json": lambda path: json.loads(path.read_text(encoding="utf-8")),
    ".jsonl": lambda path: [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()],
    ".toml": lambda path: tomllib.loads(path.read_text(encoding="utf-8")),
    ".png": _start(b"\x89PNG\r\n\x1a\n"),
    ".pdf": _start(b"%PDF-"),
    ".graphml": networkx.read_graphml,
    ".xes": ElementTree.parse,
    ".parquet": parquet.read_table,
}
