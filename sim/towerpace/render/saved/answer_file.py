"""A saved answer, written to and read back from its folder: all that figures and pages are made from."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from towerpace.answers.said.answer import Answer
from towerpace.answers.said.kinds import On
from towerpace.answers.said.tables import Column, Row, Table, Value
from towerpace.faults import Fault, InputError
from towerpace.render.frames import parsed, read_rows
from towerpace.render.json_object import as_json, plain
from towerpace.render.saved.manifest import FORMAT, Manifest
from towerpace.render.whole_folder import put_back

MANIFEST, ANSWER = "manifest.json", "answer.json"
_DESCRIBED = "described"  # key of what a program needs to read the answer back


@dataclass(frozen=True)
class Saved:
    """An answer and the manifest of its folder."""

    answer: Answer
    manifest: Manifest
    folder: Path


def answer_text(answer: Answer) -> str:
    """The text of `answer.json`: the JSON object of the answer, and the description of all it holds."""
    return json_text({**as_json(answer), _DESCRIBED: _described(answer)})


def json_text(data: Mapping[str, Any]) -> str:
    """A JSON file, indented, with a line's end at its end."""
    return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _described(answer: Answer) -> dict[str, Any]:
    """The answer without the rows of those tables that lie beside it as CSV."""
    tables = [
        replace(table, rows=())
        if On.FILE & table.on
        else replace(table, rows=[_plain(r) for r in table.rows])
        for table in answer.tables
    ]
    bare = replace(answer, tables=tables)
    described: dict[str, Any] = TypeAdapter(Answer).dump_python(bare, mode="json")
    return described


def _plain(row: Row) -> Row:
    return tuple(plain(value) for value in row)


def load_saved(folder: str | os.PathLike[str]) -> Saved:
    """Read a results folder.

    Raises `InputError` with every file that is missing or not as this version writes it.
    """
    place = Path(folder)
    put_back(place.absolute())
    if not place.is_dir():
        found = "missing folder" if not place.exists() else "a file"
        raise InputError([Fault(str(place), None, "results folder", found, "a folder written by a run")])
    faults: list[Fault] = []
    manifest = _read(place / MANIFEST, Manifest, faults)
    answer = _read(place / ANSWER, Answer, faults, within=_DESCRIBED)
    if manifest is not None and manifest.format != FORMAT:
        found = f"format {manifest.format}, of version {manifest.version}"
        faults.append(Fault(str(place / MANIFEST), None, "format", found, f"format {FORMAT}: run it again"))
    if manifest is None or answer is None:
        raise InputError(faults)
    try:
        tables = [_with_rows(table, place, faults) for table in answer.tables]
        facts = [replace(fact, value=_typed_value(fact.value, fact.column)) for fact in answer.facts]
    except ValueError as error:  # of what stands in the answer itself; tables beside it tell their own
        found = f"a value that is none of its column: {error}"
        faults.append(Fault(str(place / ANSWER), None, _DESCRIBED, found, "the answer as the run wrote it"))
    if faults:
        raise InputError(faults)
    return Saved(replace(answer, tables=tables, facts=facts), manifest, place)


def _read(path: Path, kind: Any, faults: list[Fault], *, within: str = "") -> Any:
    """A JSON file as an object of a kind; None, and a fault, where it is none."""
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
        return TypeAdapter(kind).validate_python(content[within] if within else content)
    except FileNotFoundError:
        faults.append(Fault(str(path), None, "file", "missing file", "a file written by a run"))
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(map(str, first["loc"]))
        faults.append(Fault(str(path), None, key or "file", f"{first['input']!r:.60}", first["msg"].lower()))
    except (KeyError, TypeError, IndexError, RecursionError):
        faults.append(Fault(str(path), None, "file", "another format", "a file as this version writes it"))
    except ValueError as error:
        faults.append(Fault(str(path), None, "file", f"no JSON: {error}", "a file written by a run"))
    return None


def _with_rows(table: Table, place: Path, faults: list[Fault]) -> Table:
    if not On.FILE & table.on:
        return replace(table, rows=[_typed(row, table) for row in table.rows])
    path = place / f"{table.name}.csv"
    allowed = f"a CSV with the columns {', '.join(c.name for c in table.columns)} and the stamp of the run"
    try:
        return replace(table, rows=read_rows(path, table))
    except FileNotFoundError:
        faults.append(Fault(str(path), None, "file", "missing file", "a table of the saved results"))
    except ValueError as error:
        faults.append(Fault(str(path), None, "table", str(error).splitlines()[0], allowed))
    return table


def _typed(row: Sequence[Any], table: Table) -> Row:
    """A row of a JSON file with its dates as dates."""
    return tuple(_typed_value(value, column) for value, column in zip(row, table.columns, strict=True))


def _typed_value(value: Any, column: Column) -> Value:
    return parsed(value, column) if isinstance(value, str) else value


def write_manifest(manifest: Manifest, path: Path) -> None:
    """Write the manifest, its keys in the order of `Manifest`."""
    path.write_text(json_text(asdict(manifest)), encoding="utf-8", newline="\n")
