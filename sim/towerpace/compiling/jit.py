"""How functions are compiled: parts into one entry, and only the entry is kept on disk.

numba looks for a cached function by the file that holds it and never at the functions it calls. So the
parts are not cached, and an entry carries a stamp of all sources of its parts: change one, and it is
compiled anew. Where numba is missing or broken, every function stays what it is in Python.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import cache
from hashlib import blake2b
from importlib import import_module
from pathlib import Path
from typing import Any, TypeVar, cast

F = TypeVar("F", bound=Callable[..., Any])

# Compiled code makes no arrays, so nothing has to count who holds which: counting took six times as long as
# all the rest. These are settings of numba's inside; a version that does not know one does without it.
LEAN = {"_nrt": False, "no_cfunc_wrapper": True}
LEAN_PARTS = LEAN | {"no_cpython_wrapper": True}
INLINE = {"forceinline": True}
PACKAGE = Path(__file__).parents[1]
# numba's words for a table of addresses, and for other things that entries are handed.
TABLE = "i8[::1]"
COUNTERS, FLOATS, FLOATS_2 = "u8[:, :, ::1]", "f8[::1]", "f8[:, ::1]"
INTS_2, FLAGS_2 = "i8[:, ::1]", "b1[:, ::1]"
TRIAL_ENTRIES: list[tuple[Any, str]] = []  # with the types of all that they are handed


def part(function: F) -> F:
    """A function that is compiled into those that call it."""
    return _part(function, LEAN_PARTS)


def inline_part(function: F) -> F:
    """A part that is written out where it is called: small as a push on a heap, or called from one place.

    Written out everywhere, parts would be compiled ten times over; written out nowhere, a trial would take a
    tenth longer.
    """
    return _part(function, LEAN_PARTS | INLINE)


def entry(function: F) -> F:
    """A function that Python calls without its lock, kept on disk where there is a place to write it."""
    options = {"nogil": True} | _compiler("EntryCompiler") | _known(LEAN)
    try:
        return _named_on_disk(_compiled(function, cache=True, **options))
    except RuntimeError:  # numba found no folder that it may write to
        return _compiled(function, **options)


def trial_entry(function: F, *given: str) -> F:
    """An entry that every trial calls, so that the first can have all of them compiled at one time (`ahead`).

    given : numba's words for what it is handed behind a table of addresses.
    """
    compiled = entry(function)
    if compiled is not function:
        TRIAL_ENTRIES.append((compiled, f"({', '.join((TABLE, *given))},)"))
    return compiled


def _named_on_disk(compiled: F) -> F:
    """A function whose code on disk cannot be taken for another's; as numba does it if that is not known."""
    try:
        on_disk = import_module("towerpace.compiling.on_disk")
        return cast(F, on_disk.name_by_key(compiled))
    except (ImportError, AttributeError):
        return compiled


def stamp_of(*sources: Path) -> int:
    """A number that changes with any of some sources, and with how they are compiled."""
    digest = blake2b(digest_size=7)
    for path in (*sorted(Path(__file__).parent.glob("*.py")), *sources):
        digest.update(path.read_bytes())
    return int.from_bytes(digest.digest(), "little")


@cache
def numba() -> Any:
    """The compiler, or None where it is missing, switched off or does not work with what else is there."""
    if os.environ.get("NUMBA_DISABLE_JIT", "0") != "0":
        return None
    try:
        return import_module("numba")
    except ImportError:
        return None


def _compiled(function: F, **options: object) -> F:
    compiler = numba()
    return function if compiler is None else cast(F, compiler.njit(**options)(function))


def _part(function: F, options: dict[str, bool]) -> F:
    compiled = _compiled(function, nogil=True, **_compiler("PartCompiler"), **_known(options))
    if hasattr(compiled, "get_call_template"):
        _compile_once_for_all_numbers(compiled)
    return compiled


def _compile_once_for_all_numbers(dispatcher: Any) -> None:
    """Keep numba from compiling a part anew for each number that a call of it has written out."""
    types, template_of = numba().types, dispatcher.get_call_template

    def of_kinds(args: Any, keywords: Any) -> Any:
        kinds = {name: types.unliteral(kind) for name, kind in keywords.items()}
        return template_of(tuple(types.unliteral(kind) for kind in args), kinds)

    dispatcher.get_call_template = of_kinds


@cache
def _compiler(name: str) -> dict[str, Any]:
    """The compiler of parts or of entries; numba's own where its inside is not as we know it."""
    if numba() is None:
        return {}
    try:
        return {"pipeline_class": getattr(import_module("towerpace.compiling.unfinished"), name)}
    except (ImportError, AttributeError):
        return {}


def _known(options: dict[str, bool]) -> dict[str, bool]:
    if numba() is None:
        return {}
    known = vars(import_module("numba.core.options").DefaultOptions)
    return {key: value for key, value in options.items() if key in known}
