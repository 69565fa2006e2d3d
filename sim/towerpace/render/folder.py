"""The results folder of a run: written whole or not at all."""

from __future__ import annotations

import json
import os
import re
import shutil
import tempfile
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from towerpace.answers.forecast import Forecast
from towerpace.faults import Fault, InputError
from towerpace.render.saved.forecast import MANIFEST, load_saved, write_manifest
from towerpace.render.saved.manifest import Manifest, manifest_of
from towerpace.render.tables import columns
from towerpace.render.tables.forecast import tables_of

if TYPE_CHECKING:
    from pandas import DataFrame


def default_folder(forecast: Forecast) -> Path:
    """results/<name>-<hash>-seed<seed>-<trials>: the same for equal runs, another for every other run."""
    plain = unicodedata.normalize("NFKD", forecast.tower.name).encode("ascii", "ignore").decode().lower()
    slug = re.sub(r"[^a-z0-9]+", "_", plain).strip("_") or "scenario"
    return Path("results") / f"{slug}-{forecast.scenario.hash[:8]}-seed{forecast.seed}-{forecast.trials}"


def save(
    forecast: Forecast, folder: str | os.PathLike[str], *, command: str, parquet: bool | None = None
) -> Path:
    """Write tables, figures and manifest; an older folder is replaced when the new one is complete.

    parquet : also as Parquet; None where pyarrow is installed.

    Raises `InputError` if the folder holds something that no run has written, or if Parquet is asked for
    without pyarrow.
    """
    check_folder(folder, parquet=parquet)
    if parquet is None:
        parquet = find_spec("pyarrow") is not None
    manifest = manifest_of(forecast, command=command)
    return write_folder(folder, tables_of(forecast), manifest=manifest, draw=_draw, parquet=parquet)


def write_folder(
    folder: str | os.PathLike[str],
    tables: Mapping[str, DataFrame],
    *,
    manifest: Manifest,
    draw: Callable[[Path], None],
    texts: Mapping[str, str] | None = None,
    parquet: bool = False,
) -> Path:
    """Write tables, texts by file name, and the manifest; then let `draw` add figures from what is written.

    All of it or nothing; ask `check_folder` before.
    """
    with replacing(Path(folder).resolve()) as new:
        for name, table in tables.items():
            columns.write(table, new / f"{name}.csv")
            if parquet:
                table.to_parquet(new / f"{name}.parquet", engine="pyarrow", index=False)
        for name, text in (texts or {}).items():
            (new / name).write_text(text, encoding="utf-8", newline="\n")
        write_manifest(manifest, new / MANIFEST)
        draw(new)
        files = sorted(path.name for path in new.iterdir() if path.name != MANIFEST)
        write_manifest(replace(manifest, files=files), new / MANIFEST)
    return Path(folder)


def _draw(folder: Path) -> None:
    """Figures from what has been written, so that a saved folder can always be drawn again."""
    from towerpace.render.figures.forecast import write_figures

    write_figures(load_saved(folder), folder)


def check_folder(folder: str | os.PathLike[str], *, parquet: bool | None = None) -> None:
    """Whether results may be written there: to be asked before the first trial is played.

    Raises `InputError`.
    """
    place, faults = Path(folder), []
    allowed = "a new folder, or one written by an earlier run"
    if place.exists() and not place.is_dir():
        faults.append(Fault(str(folder), None, "results folder", "a file", allowed))
    elif place.is_dir() and (foreign := _foreign(place)):
        found = f"a folder that also holds {', '.join(foreign[:3])}{', ...' if len(foreign) > 3 else ''}"
        faults.append(Fault(str(folder), None, "results folder", found, allowed))
    if parquet and find_spec("pyarrow") is None:
        found = "asked for without pyarrow"
        faults.append(Fault(str(folder), None, "parquet", found, "pip install 'towerpace[parquet]'"))
    if faults:
        raise InputError(faults)


def _foreign(folder: Path) -> list[str]:
    """What stands in a folder and was not written by a run."""
    there = sorted(path.name for path in folder.iterdir())
    try:
        listed = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))["files"]
    except (OSError, ValueError, KeyError, TypeError):
        return there
    return [name for name in there if name != MANIFEST and name not in listed]


@contextmanager
def replacing(target: Path) -> Iterator[Path]:
    """A temporary folder beside the target that takes its place at the end, or leaves no trace."""
    target.parent.mkdir(parents=True, exist_ok=True)
    new = Path(tempfile.mkdtemp(prefix=f".{target.name}-new-", dir=target.parent))
    try:
        yield new
        new.chmod(0o755)  # a temporary folder is closed to others
        _swap(new, target)
    except BaseException:
        shutil.rmtree(new, ignore_errors=True)
        raise


def _swap(new: Path, target: Path) -> None:
    """Put the new folder in the place of the old, which comes back should that fail."""
    if not target.exists():
        new.rename(target)
        return
    old = new.with_name(new.name.replace("-new-", "-old-"))
    target.rename(old)
    try:
        new.rename(target)
    except BaseException:
        old.rename(target)
        raise
    shutil.rmtree(old)
