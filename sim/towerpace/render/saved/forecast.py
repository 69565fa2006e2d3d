"""A saved forecast, read back from its folder: all that figures and pages are made from."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING

from towerpace.faults import Fault, InputError
from towerpace.render.saved.manifest import FORMAT, Manifest
from towerpace.render.tables import columns

if TYPE_CHECKING:
    from pandas import DataFrame

MANIFEST = "manifest.json"


@dataclass(frozen=True)
class Saved:
    """Tables by name, as `columns.TABLES` describes them, and the manifest."""

    tables: Mapping[str, DataFrame]
    manifest: Manifest


def load_saved(folder: str | os.PathLike[str], *, of: columns.Tables = columns.TABLES) -> Saved:
    """Read a results folder.

    of : its tables, by default those of a forecast.

    Raises `InputError` with every file that is missing or not as this version writes it.
    """
    place = Path(folder)
    manifest, faults = _manifest(place / MANIFEST)
    tables = {}
    for name in of:
        path = place / f"{name}.csv"
        try:
            tables[name] = columns.read(name, path, tables=of)
        except FileNotFoundError:
            faults.append(Fault(str(path), None, "file", "missing file", "a table of the saved results"))
        except (ValueError, KeyError) as error:
            allowed = f"a CSV with the columns {', '.join(columns.kinds(name, tables=of))}"
            faults.append(Fault(str(path), None, "table", str(error).splitlines()[0], allowed))
    if faults or manifest is None:
        raise InputError(faults)
    return Saved(tables, manifest)


def _manifest(path: Path) -> tuple[Manifest | None, list[Fault]]:
    allowed = f"a manifest of format {FORMAT}"
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
    except (FileNotFoundError, NotADirectoryError):
        return None, [Fault(str(path), None, "file", "missing file", allowed)]
    except ValueError as error:
        return None, [Fault(str(path), None, "file", f"no JSON: {error}", allowed)]
    names = {one.name for one in fields(Manifest)}
    if not isinstance(content, dict) or content.get("format") != FORMAT or set(content) != names:
        return None, [Fault(str(path), None, "format", "another format", allowed)]
    return Manifest(**content), []


def write_manifest(manifest: Manifest, path: Path) -> None:
    """Write the manifest, its keys in the order of `Manifest`."""
    text = json.dumps(asdict(manifest), indent=2, ensure_ascii=False)
    path.write_text(text + "\n", encoding="utf-8", newline="\n")
