"""The stamp under which what is compiled from the kernel's sources is kept."""

from __future__ import annotations

from pathlib import Path

from towerpace.compiling.jit import PACKAGE, stamp_of

# Beside the kernel's own: where compiled code takes its constants from.
SOURCES_OF_CONSTANTS = tuple(PACKAGE / name for name in ("units.py", "engine/diary.py", "plan/lists.py"))


def stamp_of_sources(*more: Path) -> int:
    """A number that changes with any source that the kernel is compiled from, and with those of its users."""
    return stamp_of(*sorted(Path(__file__).parent.glob("*.py")), *SOURCES_OF_CONSTANTS, *more)
