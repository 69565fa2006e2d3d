"""The files of a scenario for workers: where they lie, or packed up for machines that do not see them."""

from __future__ import annotations

import io
import os
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from threading import Lock

# Two threads that unpack at once would each have a folder, and that of the loser goes at once.
_UNPACKING = Lock()


@dataclass(frozen=True)
class Source:
    """The scenario file and all that it names.

    path : of the scenario file, seen from here. packed : a ZIP of the files, or None where workers see them.
    inside : of the scenario file in the ZIP.
    """

    path: str
    packed: bytes | None = None
    inside: str = ""

    def place(self) -> str:
        """Path of the scenario file on this machine."""
        if self.packed is None:
            return self.path
        with _UNPACKING:
            return str(Path(_unpacked(self.packed).name) / self.inside)


def packed(path: str, names: Iterable[str]) -> Source:
    """A scenario file with the files that it and its changes name, for other machines.

    names : relative to the scenario file. Absolute ones are left out: every machine must have them itself.
    """
    folder = Path(path).parent
    inner = sorted({os.path.normpath(name) for name in names if not os.path.isabs(name)})
    depth = max((PurePosixPath(Path(name).as_posix()).parts.count("..") for name in inner), default=0)
    # The scenario lies deep enough that "../weather" stays inside the ZIP.
    base = "/".join(["files"] * (depth + 1))
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in [Path(path).name, *inner]:
            entry = zipfile.ZipInfo(Path(os.path.normpath(f"{base}/{name}")).as_posix())
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, (folder / name).read_bytes())
    return Source(path, content.getvalue(), f"{base}/{Path(path).name}")


@lru_cache(maxsize=4)
def _unpacked(content: bytes) -> TemporaryDirectory[str]:
    """The files in a folder that goes when the worker ends, or when other scenarios have followed."""
    folder = TemporaryDirectory(prefix="towerpace-")
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        archive.extractall(folder.name)
    return folder


def files_named(tree: object, *, folder: Path) -> set[str]:
    """Every text in a tree that names a file of the folder: tables, samples, records."""
    if isinstance(tree, Mapping):
        return set().union(*(files_named(entry, folder=folder) for entry in tree.values()))
    if isinstance(tree, list | tuple):
        return set().union(*(files_named(entry, folder=folder) for entry in tree))
    if isinstance(tree, str) and tree and len(tree) < 255 and "\n" not in tree:
        return {tree} if (folder / tree).is_file() else set()
    return set()
