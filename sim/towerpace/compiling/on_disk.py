"""What is kept on disk of compiled code: under names of its own, whole, and never in the way of a run.

numba counts the files of a function and writes down which is whose before it writes them. A process that ends
in between, or another that compiles at the same time from other sources, then leaves a function with code
that was compiled from something else: it reads arrays that are not there. Here the name follows from what was
compiled, the list comes last, and a file that is not as it was written is not there.

This reaches into numba; where a version of it works otherwise, `jit` leaves its files to it.
"""

# mypy: ignore-errors
# The inside of numba is not typed.

from __future__ import annotations

import pickle
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path

from numba.core.caching import FunctionCache, IndexDataCacheFile

MARK = 16  # bytes before the code, by which it is known to be whole
# What is called or overridden, or an error here, where `jit` expects one.
_KNOWN = (
    *(IndexDataCacheFile._load_index, IndexDataCacheFile._save_index, IndexDataCacheFile._load_data),
    *(IndexDataCacheFile._open_for_write, IndexDataCacheFile._data_name, IndexDataCacheFile._dump),
    *(FunctionCache._load_overload, FunctionCache._guard_against_spurious_io_errors),
)


class OwnNames(IndexDataCacheFile):
    """The files of one function, each named by what it was compiled from."""

    def save(self, key, data):
        """Keep code under a key; where nothing can be kept nothing is."""
        with suppress(OSError):  # as of a full disk: the next run compiles again
            name = self._data_name(int.from_bytes(_digest(repr(key).encode(), size=6), "little"))
            self._save_data(name, data)
            listed = self._load_index() | {key: name}
            self._save_index(listed)
            self._sweep_out({*listed.values()})

    def _sweep_out(self, names):
        """Take away what is older than the source and not listed: no process can be about to list it."""
        start, changed_s = self._index_name.removesuffix("nbi"), self._source_stamp[0]
        for path in Path(self._cache_path).iterdir():
            is_ours = path.name.startswith(start) and path.name.endswith(".nbc")
            if is_ours and path.name not in names and path.stat().st_mtime < changed_s:
                path.unlink(missing_ok=True)

    def _load_index(self):
        try:
            return super()._load_index()
        except (EOFError, pickle.UnpicklingError, ValueError, AttributeError):  # torn, as when power fails
            return {}

    def _save_data(self, name, data):
        code = self._dump(data)
        with self._open_for_write(self._data_path(name)) as file:
            file.write(_digest(code, size=MARK) + code)

    def _load_data(self, name):
        content = Path(self._data_path(name)).read_bytes()
        if content[:MARK] != _digest(content[MARK:], size=MARK):
            raise OSError(f"{name} is not whole")  # numba then compiles
        return pickle.loads(content[MARK:])


def _digest(content, *, size):
    return blake2b(content, digest_size=size).digest()


class Ready(FunctionCache):
    """Reads code from disk without getting numba ready to compile, which takes longer than reading it."""

    def load_overload(self, sig, target_context):
        """What is kept for a signature, or None."""
        with self._guard_against_spurious_io_errors():
            return self._load_overload(sig, target_context)


def name_by_key(dispatcher):
    """Have what is kept of a function named by what it was compiled from; returns the function."""
    cache = dispatcher._cache
    cache._cache_file = _as(OwnNames, cache._cache_file)
    if dispatcher.targetoptions.get("_nrt") is False:  # else the code may want numba's counting of arrays
        dispatcher._cache = _as(Ready, cache)
    return dispatcher


def _as(kind, thing):
    own = kind.__new__(kind)
    vars(own).update(vars(thing))
    return own
