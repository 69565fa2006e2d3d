"""What the tests of compiled code ask: whether numba must be there, and compiling of small functions."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from packaging.requirements import Requirement

from towerpace.compiling import jit

PROJECT = Path(__file__).parents[2] / "pyproject.toml"


def is_dependency(name: str) -> bool:
    """Whether the program asks for a package on this machine and this Python."""
    wanted = map(Requirement, tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]["dependencies"])
    return any(w.name == name and (w.marker is None or w.marker.evaluate()) for w in wanted)


def compiled_here(function: Callable[..., Any]) -> Callable[..., Any]:
    """A function of a test that calls parts of the kernel: compiled as they are, or plain as they are."""
    compiler = jit.numba()
    return function if compiler is None else compiler.njit(function)
