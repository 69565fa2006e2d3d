"""Texts without the machine they were made on: a results folder is passed on to others."""

from __future__ import annotations

import shlex
from pathlib import Path, PurePath, PurePosixPath, PureWindowsPath


def portable(text: str) -> str:
    """A path that starts at the root of a machine, as others may read it; any other text as it is.

    Below the working folder: from there. Elsewhere: its last two parts.
    """
    pure = _absolute(text)
    if pure is None:
        return text
    try:
        return Path(text).relative_to(Path.cwd()).as_posix()
    except ValueError:
        return PurePosixPath(*pure.parts[1:][-2:]).as_posix()


def portable_command(command: str) -> str:
    """A command line whose words and option values are portable; unchanged where none is of a machine."""
    try:
        words = shlex.split(command)
    except ValueError:
        words = command.split()
    bare = [_word(word) for word in words]
    return command if bare == words else shlex.join(bare)


def _word(word: str) -> str:
    option, equals, value = word.partition("=")
    return f"{option}={portable(value)}" if equals else portable(word)


def _absolute(text: str) -> PurePath | None:
    for kind in (PurePosixPath, PureWindowsPath):
        pure = kind(text)
        if pure.is_absolute():
            return pure
    return None
