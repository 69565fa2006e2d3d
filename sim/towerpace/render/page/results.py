"""Results for a report: one or more saved folders, read whole and checked to be of one scenario."""

from __future__ import annotations

import csv
import json
import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from towerpace.faults import Fault, InputError
from towerpace.render.saved.forecast import MANIFEST, load_saved
from towerpace.render.saved.manifest import Manifest
from towerpace.render.tables.columns import DATE, NUMBER, STAMP, TEXT, TRUTH, WHOLE, read

if TYPE_CHECKING:
    from pandas import DataFrame

FORECAST, COMPARE, EXPLAIN, ADD, BID = "forecast", "compare", "explain", "add", "bid"
_FORECAST_TABLE = "percentiles.csv"
_NUMBER = re.compile(r"-?\d+(\.\d+)?([eE][+-]?\d+)?")
# Columns that hold names, even where every name looks like a number.
_NAMES = ("name", "setup", "trade", "cause", "zone", "step", "pool", "who", "for", "hash", "version", "unit")


@dataclass(frozen=True)
class Part:
    """One results folder: what wrote it, its manifest, tables, JSON objects and SVG figures by name.

    kind : the first of the objects, or "forecast".
    """

    kind: str
    folder: Path
    manifest: Manifest
    tables: Mapping[str, DataFrame]
    objects: Mapping[str, Mapping[str, Any]]
    svgs: Mapping[str, str]


@dataclass(frozen=True)
class Results:
    """All that a report is made from; the first part gives it its name."""

    parts: Sequence[Part]

    def part(self, kind: str) -> Part | None:
        """The first part of a kind."""
        return next((part for part in self.parts if part.kind == kind), None)

    def found(self, name: str) -> tuple[Part, Mapping[str, Any]] | None:
        """A JSON object with the part in whose folder it lies."""
        return next(((part, part.objects[name]) for part in self.parts if name in part.objects), None)


def read_results(folders: Sequence[str | os.PathLike[str]]) -> Results:
    """Read saved folders, those of a forecast or a comparison first.

    Raises `InputError` with every fault of every folder: files missing or broken, another scenario, neither a
    forecast nor a comparison among them.
    """
    parts: list[Part] = []
    faults: list[Fault] = []
    for folder in folders:
        try:
            parts.append(_part(Path(folder)))
        except InputError as error:
            faults.extend(error.faults)
    if parts and not faults:
        parts.sort(key=lambda part: {FORECAST: 0, COMPARE: 1}.get(part.kind, 2))
        faults = [*_answerless(parts), *_of_other_scenarios(parts)]
    if faults:
        raise InputError(faults)
    return Results(parts)


def _part(folder: Path) -> Part:
    objects = _objects(folder)
    kinds = [kind for kind in (COMPARE, EXPLAIN, ADD, BID) if kind in objects]
    if (folder / _FORECAST_TABLE).exists() or not kinds:
        kind, saved = FORECAST, load_saved(folder)
        tables = saved.tables
    else:
        kind, saved = kinds[0], load_saved(folder, of={})
        tables = {path.stem: _table(path) for path in sorted(folder.glob("*.csv"))}
    svgs = {path.stem: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.svg"))}
    return Part(kind, folder, saved.manifest, tables, objects, svgs)


def _objects(folder: Path) -> dict[str, dict[str, Any]]:
    found, faults = {}, []
    for path in sorted(folder.glob("*.json")):
        if path.name == MANIFEST:
            continue
        try:
            content = json.loads(path.read_text(encoding="utf-8"))
        except ValueError as error:
            faults.append(Fault(str(path), None, "file", f"no JSON: {error}", "a saved JSON object"))
            continue
        if isinstance(content, dict):
            found[path.stem] = content
        else:
            faults.append(Fault(str(path), None, "file", "no JSON object", "a saved JSON object"))
    if faults:
        raise InputError(faults)
    return found


def _table(path: Path) -> DataFrame:
    """A table of any run, each column kept as its name and its cells say.

    Raises `InputError` for a table that is not marked with its run.
    """
    with path.open(encoding="utf-8", newline="") as file:
        names, *rows = csv.reader(file)
    columns = zip(names, zip(*rows, strict=True) if rows else [()] * len(names), strict=True)
    kinds = {name: _kind(name, texts) for name, texts in columns if name not in STAMP}
    try:
        return read(path.stem, path, tables={path.stem: kinds})
    except ValueError as error:
        allowed = f"a table that ends in the columns {', '.join(STAMP)}"
        raise InputError([Fault(str(path), None, "table", str(error).splitlines()[0], allowed)]) from None


def _kind(name: str, texts: Sequence[str]) -> str:
    if name.rpartition("_")[2] in _NAMES:
        return TEXT
    known = [text for text in texts if text]
    if name.rpartition("_")[2] == "date":
        return DATE
    if known and all(text in ("True", "False") for text in known):
        return TRUTH if len(known) == len(texts) else TEXT
    if known and all(_NUMBER.fullmatch(text) for text in known):
        return WHOLE if all(text.lstrip("-").isdigit() for text in known) else NUMBER
    return TEXT


def _answerless(parts: Sequence[Part]) -> list[Fault]:
    if parts[0].kind in (FORECAST, COMPARE):
        return []
    found = f"results of {', '.join(dict.fromkeys(part.kind for part in parts))} only"
    return [Fault(str(parts[0].folder), None, "results", found, "the folder of a forecast beside it")]


def _of_other_scenarios(parts: Sequence[Part]) -> list[Fault]:
    first = parts[0]
    hashes = [
        (str(part.folder / place), str(found))
        for part in parts
        for place, found in (
            (MANIFEST, part.manifest.hash),
            *((f"{name}.json", data["hash"]) for name, data in part.objects.items() if "hash" in data),
        )
    ]
    allowed = f"results of scenario {first.manifest.hash[:12]}, as in {first.folder}"
    return [
        Fault(place, None, "hash", f"results of scenario {found[:12]}", allowed)
        for place, found in hashes
        if found != first.manifest.hash
    ]
