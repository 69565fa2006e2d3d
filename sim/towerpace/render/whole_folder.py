"""A folder that takes another's place in one step, and what is made good where a run was killed on the way.

A run writes into `.NAME-new-...` beside the folder NAME and then exchanges the two, in one step where the
system can. Where it cannot, the earlier folder is called `.NAME-old-...` between two renames: a run that is
killed there leaves no NAME, and whoever asks for NAME next puts the earlier one back. Who writes holds a lock
on his folder, which falls with his process, so that what nobody holds is rubbish of a killed run.
"""

from __future__ import annotations

import ctypes
import logging
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

_NEW, _OLD = "-new-", "-old-"
_MADE = "[a-z0-9_]{8}"  # what `tempfile` adds to a name
_HERE, _EXCHANGE = -100, 2  # of Linux: rename(2)
# No lock: the system or the disk has none, or another process has it.
_NONE, _TAKEN = -1, -2
_log = logging.getLogger("towerpace")


@contextmanager
def replacing(target: Path) -> Iterator[Path]:
    """A temporary folder beside the target that takes its place at the end, or leaves no trace."""
    target.parent.mkdir(parents=True, exist_ok=True)
    put_back(target)
    _clear(target)
    with beside(target) as new:
        yield new
        new.chmod(0o755)  # a temporary folder is closed to others
        _swap(new, target)


@contextmanager
def beside(target: Path) -> Iterator[Path]:
    """A temporary folder beside the target; nothing is left of it at the end, unless it was renamed."""
    new, lock = _made(target)
    try:
        yield new
    finally:
        shutil.rmtree(new, ignore_errors=True)
        _release(lock)


def put_back(target: Path) -> None:
    """Put back the earlier folder where a run was killed before its own had taken the place."""
    if target.exists() or not target.parent.is_dir():
        return
    for old in _left(target, _OLD):
        lock = _held(old)
        try:
            if lock != _TAKEN:
                old.rename(target)
                _log.warning("A run was killed while it replaced %s: the earlier results are back.", target)
                return
        finally:
            _release(lock)


def _clear(target: Path) -> None:
    """Take away what killed runs have left, where it is certain that nobody is at it."""
    for place in [*_left(target, _NEW), *_left(target, _OLD)]:
        lock = _held(place)
        if lock >= 0:
            shutil.rmtree(place, ignore_errors=True)
        _release(lock)


def _left(target: Path, kind: str) -> list[Path]:
    """Temporary folders of a target."""
    name = re.compile(re.escape(f".{target.name}{kind}") + _MADE)
    with suppress(PermissionError):  # a folder that may be entered but not listed
        return [place for place in target.parent.iterdir() if name.fullmatch(place.name)]
    return []


def _made(target: Path) -> tuple[Path, int]:
    """A new folder and the lock on it. Made anew where somebody took it for left before it was locked."""
    while True:
        new = Path(tempfile.mkdtemp(prefix=f".{target.name}{_NEW}", dir=target.parent))
        lock = _held(new)
        if lock != _TAKEN and new.exists():
            return new, lock
        _release(lock)


def _held(place: Path) -> int:
    """A lock on a folder, to be released; below 0 for none."""
    try:
        import fcntl

        lock = os.open(place, os.O_RDONLY)
    except (ImportError, OSError):
        return _NONE
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        os.close(lock)
        return _TAKEN if isinstance(error, BlockingIOError) else _NONE
    return lock


def _release(lock: int) -> None:
    if lock >= 0:
        os.close(lock)


def _swap(new: Path, target: Path) -> None:
    """Put the new folder in the place of the old, which is removed, or comes back should that fail."""
    if not target.exists():
        new.rename(target)
        return
    if _exchanged(new, target):
        shutil.rmtree(new)
        return
    old = new.with_name(new.name.replace(_NEW, _OLD))
    lock = _held(target)
    try:
        target.rename(old)
        try:
            new.rename(target)
        except BaseException:
            old.rename(target)
            raise
        shutil.rmtree(old)
    finally:
        _release(lock)


def _exchanged(one: Path, other: Path) -> bool:
    """Exchange two names in one step; False where the system or the disk cannot.

    References: renameat2, RENAME_EXCHANGE, in rename(2) of the Linux manual pages.
    """
    with suppress(AttributeError, OSError):
        rename = ctypes.CDLL(None).renameat2
        return bool(rename(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE) == 0)
    return False
