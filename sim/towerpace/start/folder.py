"""A new folder that is written whole or not at all."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from towerpace.faults import Fault, InputError


def check_new(folder: Path) -> None:
    """Raise `InputError` unless a folder can be begun there."""
    parent = folder.absolute().parent
    obstacle = None
    if folder.is_dir() and any(folder.iterdir()):
        obstacle = "a folder with files in it"
    elif folder.exists() and not folder.is_dir():
        obstacle = "a file"
    elif not parent.is_dir():
        obstacle = f"a folder in {parent.name}, which is not there"
    if obstacle is not None:
        raise InputError([Fault(os.fspath(folder), None, "FOLDER", obstacle, "a new or an empty folder")])


@contextmanager
def written_whole(folder: Path) -> Iterator[Path]:
    """A folder beside the wanted one to write into; it takes its place at the end, or is gone on a fault."""
    check_new(folder)
    parent = folder.absolute().parent
    draft = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=parent))
    try:
        yield draft
        if folder.is_dir():
            folder.rmdir()
        draft.chmod(0o755)
        draft.rename(folder)
    finally:
        if draft.is_dir():
            shutil.rmtree(draft)
