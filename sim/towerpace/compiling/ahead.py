"""Which entries are still to be compiled, so that they can be compiled at one time instead of one by one.

An entry is compiled when it is first called, and the first trial calls one after the other. Each is a job of
its own that ends in a file, so copies of a process may share them out; what they kept is read from disk.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from importlib import import_module
from typing import Any, NamedTuple

from towerpace.compiling.jit import TRIAL_ENTRIES


class Due(NamedTuple):
    """An entry that is not on disk, the types of what it is handed, and how much there is to compile."""

    entry: Any
    types: tuple[Any, ...]
    size: int

    def compile(self) -> None:
        """Make it ready to run, and keep it on disk."""
        self.entry.compile(self.types)


def entries_due() -> list[Due]:
    """The entries known so far that would be compiled when they are called; none where none can be kept."""
    try:
        known = [(entry, _types_in(given)) for entry, given in TRIAL_ENTRIES if not entry.signatures]
        due = [
            Due(entry, types, sum(map(len, _codes_within(entry, set()))))
            for entry, types in known
            if _is_missing(entry, types)
        ]
        if due:  # what numba needs to compile is loaded once, and taken over by copies of the process
            due[0].entry.targetdescr.target_context.refresh()
        return due
    except (AttributeError, ImportError):  # the inside of numba is not as we know it
        return []


def any_is_due() -> bool:
    """Whether an entry known so far is compiled when it is called; always where none can be kept."""
    try:
        return any(
            not entry.signatures and (not _is_kept(entry) or _is_missing(entry, _types_in(given)))
            for entry, given in TRIAL_ENTRIES
        )
    except (AttributeError, ImportError):  # the inside of numba is not as we know it
        return False


def _types_in(given: str) -> tuple[Any, ...]:
    types: tuple[Any, ...] = import_module("numba.core.sigutils").normalize_signature(given)[0]
    return types


def shared_out(due: Iterable[Due], most: int) -> list[list[Due]]:
    """At most so many shares, so that the greatest is as small as it comes without trying every way.

    Examples
    --------
    >>> [[due.size for due in share] for share in shared_out([Due(None, (), n) for n in (2, 9, 4, 3)], 3)]
    [[9], [4, 3, 2]]
    """
    by_size = sorted(due, key=lambda each: -each.size)
    if not by_size:
        return []
    # More shares than this end no sooner, for the greatest entry is compiled by one.
    n = min(most, -(-sum(each.size for each in by_size) // max(by_size[0].size, 1)))
    shares: list[list[Due]] = [[] for _ in range(n)]
    for each in by_size:
        min(shares, key=lambda share: sum(other.size for other in share)).append(each)
    return shares


def _is_kept(entry: Any) -> bool:
    return hasattr(entry._cache, "_cache_file")


def _is_missing(entry: Any, types: tuple[Any, ...]) -> bool:
    """Whether nothing is kept of an entry that can be kept."""
    cache = entry._cache
    if not _is_kept(entry):
        return False
    key = cache._index_key(types, entry.targetdescr.target_context.codegen())
    return key not in cache._cache_file._load_index()


def _codes_within(function: Any, met: set[Any]) -> Iterator[bytes]:
    """The code of a function and of all parts that it calls, each once."""
    plain = function.py_func
    met.add(function)
    yield plain.__code__.co_code
    for name in plain.__code__.co_names:
        called = plain.__globals__.get(name)
        if hasattr(called, "py_func") and called not in met:
            yield from _codes_within(called, met)
