"""The parts of a long answer, one after the other, so that Ctrl-C costs only those that are not finished."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

Got = TypeVar("Got")


class Parts:
    """Parts of an answer one after the other; after Ctrl-C the others are left out.

    finished, missing : names of the parts.
    """

    def __init__(self, *, is_cut: bool = False) -> None:
        self._is_cut = is_cut
        self.finished: list[str] = []
        self.missing: list[str] = []

    def play(self, name: str, part: Callable[[], Got]) -> Got | None:
        """What a part gives; None where it was cut short."""
        if not self._is_cut:
            try:
                got = part()
                self.finished.append(name)
                return got
            except KeyboardInterrupt:
                self._is_cut = True
        self.missing.append(name)
        return None
