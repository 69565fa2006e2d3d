"""Compile the engine once before the workers of a test run start, or each would compile it for itself."""

from __future__ import annotations

import subprocess
import sys
from hashlib import blake2b
from importlib.util import find_spec
from pathlib import Path

import pytest

import towerpace

SCENARIO = Path(__file__).parents[2] / "scenarios" / "one_trade" / "scenario.toml"
CODE = "import sys, towerpace; towerpace.forecast(towerpace.load(sys.argv[1]), trials=1, workers=1)"
KEY = "towerpace/compiled"


def compile_before_the_workers(config: pytest.Config) -> None:
    """Play one trial in a process of its own, unless one was played since the sources were changed last."""
    cache = getattr(config, "cache", None)
    if cache is None or find_spec("numba") is None:
        return
    sources = _stamp()
    if cache.get(KEY, None) == sources:
        return
    # A fault of the engine is for the tests to tell.
    if subprocess.run([sys.executable, "-c", CODE, str(SCENARIO)], check=False).returncode == 0:
        cache.set(KEY, sources)


def _stamp() -> str:
    """A word that changes with any source file."""
    digest = blake2b(digest_size=8)
    for path in sorted(Path(towerpace.__file__).parent.rglob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()
