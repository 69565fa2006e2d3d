"""Faults of the input: what is wrong, where, and what would be right.

Every reader of input collects `Fault` objects and raises one `InputError` that holds them all, so that a user
mends a file once and not fault by fault.
"""

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong with the input.

    Parameters
    ----------
    file : str
        File as the user named it.
    line : int or None
        Line of the file, counted from 1; None where no line can be named.
    key : str
        Dotted key or column.
    found : str
        What stands there: a value in words, or text that begins with "missing".
    allowed : str
        What may stand there.
    nearest : str, optional
        The nearest right word.

    Examples
    --------
    >>> Fault("tower.toml", 60, "resource.hoist.cuont", "an unknown key", "count, order", "count").text()
    'line 60  resource.hoist.cuont: found an unknown key; allowed: count, order; nearest: count'
    """

    file: str
    line: int | None
    key: str
    found: str
    allowed: str
    nearest: str | None = None

    def text(self) -> str:
        """The fault on one line, without its file."""
        place = "" if self.line is None else f"line {self.line}  "
        found = self.found if self.found.startswith("missing") else f"found {self.found}"
        nearest = "" if self.nearest is None else f"; nearest: {self.nearest}"
        return f"{place}{self.key}: {found}; allowed: {self.allowed}{nearest}"


class InputError(Exception):
    """The input cannot be used; holds every fault that was found.

    Parameters
    ----------
    faults : iterable of Fault
        At least one.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__(self.faults)

    def __str__(self) -> str:
        return report(self.faults)


def report(faults: Sequence[Fault]) -> str:
    """All faults as text: grouped by file, in line order, faults without a line last."""
    by_file: dict[str, list[Fault]] = {}
    for fault in faults:
        by_file.setdefault(fault.file, []).append(fault)
    lines = []
    for file, group in by_file.items():
        lines.append(f"{file}: {len(group)} {'fault' if len(group) == 1 else 'faults'}")
        lines += [f"  {fault.text()}" for fault in in_line_order(group)]
    return "\n".join(lines)


def in_line_order(faults: Iterable[Fault]) -> list[Fault]:
    """Faults of one file sorted by line; those without a line last, ties as they came."""
    return sorted(faults, key=lambda fault: (fault.line is None, fault.line or 0))


def nearest_word(word: str, words: Iterable[str]) -> str | None:
    """The word most like the given one, or None when none is like it.

    Notes
    -----
    Ratio of `difflib.SequenceMatcher` of at least 0.6, letter case ignored.
    """
    by_lower = {candidate.lower(): candidate for candidate in words}
    close = difflib.get_close_matches(word.lower(), list(by_lower), n=1, cutoff=0.6)
    return by_lower[close[0]] if close else None
