"""The compiled engine: the same diary as `engine.reference`, step by step, from flat arrays.

It needs numba, which is an extra; importing this package does not import it, `kernel.run` does.

- `columns` says what stands where; `tables` writes a plan into one array of whole numbers, once;
  `air` brings the hours of a trial,
- `site` makes the second array: what changes while a trial runs,
- `gather` says which steps wait in crowds: for one unit of one pool, as crates do for a hoist,
- `heaps`, `trees`, `scan`, `pools`, `stories`, `marks`, `crowds` and `turns` are the compiled rule, each
  building on those before it; `crowds` is what keeps the time of a step the same however many wait,
- `play` is the compiled clock, `run` the way in from Python.

Two arrays instead of dozens, because a compiled function is handed every array in seven words or more:
with forty of them the same rule took thirty times as long.
"""

import os
from importlib.util import find_spec
from pathlib import Path

CACHE = Path(__file__).parent / "__pycache__"


def available() -> bool:
    """Whether numba is there to compile the kernel."""
    return find_spec("numba") is not None


def is_compiled_first(cache: Path = CACHE) -> bool:
    """Whether the next trial has to wait until the kernel is compiled, as far as its folder can tell.

    cache : where numba keeps what it compiled, unless it is told another folder or may not write there.
    """
    if not available() or "NUMBA_CACHE_DIR" in os.environ or not os.access(cache.parent, os.W_OK):
        return False
    return not any(cache.glob("play.*.nbi"))
