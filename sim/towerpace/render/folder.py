"""The results folder of a run: tried before the first trial, written whole or not at all."""

from __future__ import annotations

import json
import os
import re
import unicodedata
from dataclasses import replace
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import NamedTuple

from towerpace.answers.said.answer import Answer, Run
from towerpace.faults import Fault, InputError
from towerpace.render.frames import Framed, seen_in_files, write_table
from towerpace.render.saved.answer_file import ANSWER, MANIFEST, answer_text, write_manifest
from towerpace.render.saved.manifest import manifest_of
from towerpace.render.whole_folder import beside, put_back, replacing
from towerpace.trials.copies import share_out
from towerpace.trials.standby import Standby
from towerpace.trials.team import cores


def default_folder(run: Run) -> Path:
    """results/<name>-<hash>-seed<seed>-<trials>: the same for equal runs, another for every other run."""
    return Path("results") / f"{slug(run.scenario)}-{run.hash[:8]}-seed{run.seed}-{run.asked}"


def slug(name: str) -> str:
    """A name as part of a file name on any system.

    >>> slug("Wharf [phase 2] = ../x")
    'wharf_phase_2_x'
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[:60] or "scenario"


def save(
    answer: Answer, folder: str | os.PathLike[str], *, command: str, parquet: bool | None = None
) -> Path:
    """Write answer, tables, figures and manifest; an older folder is replaced when the new one is complete.

    parquet : tables also as Parquet; None where pyarrow is installed.

    Raises `InputError` if the folder holds something that no run has written or cannot be written, or if
    Parquet is asked for without pyarrow.
    """
    check_folder(folder, parquet=parquet)
    if parquet is None:
        parquet = find_spec("pyarrow") is not None
    manifest = manifest_of(answer, command=command)
    with replacing(Path(folder).resolve()) as new:
        (new / ANSWER).write_text(answer_text(answer), encoding="utf-8", newline="\n")
        job = _Job(answer, new, parquet)
        if not any(writer.has_done(job) for writer in _STANDING_BY):
            _fill(job)
        files = sorted(path.name for path in new.iterdir())
        write_manifest(replace(manifest, files=files), new / MANIFEST)
    return Path(folder)


class _Job(NamedTuple):
    """What is to be written where."""

    answer: Answer
    folder: Path
    parquet: bool


# At most one: who gets ready to write while trials are played.
_STANDING_BY: list[Standby[_Job]] = []


def stand_by() -> None:
    """Have a copy of this process get ready to write a folder, for the next `save`."""
    _STANDING_BY[:] = [Standby(_get_ready, _fill)]


def _get_ready() -> None:
    import_module("pandas")  # now, or every copy that is made later imports it
    import_module("towerpace.render.figures.drawing").get_ready()


def _fill(job: _Job) -> None:
    """Write tables and figures, side by side."""
    share_out(lambda write: write(job), (_fill_in_figures, _fill_in_tables), workers=cores())


def _fill_in_tables(job: _Job) -> None:
    for table in seen_in_files(job.answer):
        write_table(table, job.folder / table.name, run=job.answer.run, parquet=job.parquet)


def _fill_in_figures(job: _Job) -> None:
    _write_figures(job.answer, job.folder)


def _write_figures(answer: Answer, folder: Path) -> None:
    from towerpace.render.figures.drawing import write_figures

    write_figures(Framed(answer), folder)


def check_folder(folder: str | os.PathLike[str], *, parquet: bool | None = None) -> None:
    """Whether results may and can be written there, by writing: to be asked before the first trial is played.

    Raises `InputError`.
    """
    place, faults = Path(folder), []
    allowed = "a new folder, or one written by an earlier run"
    try:
        put_back(place.absolute())
        if place.exists() and not place.is_dir():
            faults.append(Fault(str(folder), None, "results folder", "a file", allowed))
        elif place.is_dir() and (foreign := _foreign(place)):
            found = f"a folder that also holds {', '.join(foreign[:3])}{', ...' if len(foreign) > 3 else ''}"
            faults.append(Fault(str(folder), None, "results folder", found, allowed))
        else:
            _try_to_write(place)
    except (OSError, ValueError) as error:  # a name with a null byte is a ValueError
        found = f"a place that cannot be written: {getattr(error, 'strerror', None) or error}"
        faults.append(Fault(str(folder), None, "results folder", found, "a folder that can be made"))
    if parquet and find_spec("pyarrow") is None:
        found = "asked for without pyarrow"
        faults.append(Fault(str(folder), None, "parquet", found, "pip install 'towerpace[parquet]'"))
    if faults:
        raise InputError(faults)


def _try_to_write(place: Path) -> None:
    """Make what `replacing` will make, put a byte into it, and take all of it away again."""
    target = place.absolute()
    missing = [parent for parent in target.parents if not parent.exists()]
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with beside(target) as new:
            (new / MANIFEST).write_bytes(b"{}")
    finally:
        for parent in missing:  # innermost first
            if parent.exists():
                parent.rmdir()


def _foreign(folder: Path) -> list[str]:
    """What stands in a folder and was not written by a run."""
    there = sorted(path.name for path in folder.iterdir())
    try:
        listed = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))["files"]
        return [name for name in there if name != MANIFEST and name not in listed]
    except (OSError, ValueError, KeyError, TypeError):
        return there
