"""The compiled engine: the same diary as `engine.reference`, step by step, from arrays by name.

It needs numba, which is installed with the program where there are wheels of it. Importing this package does
not import it, `kernel.run` does; without it the functions run as they stand, far too slowly for a tower.

- `arrays` says what there is by name; `tables` writes a plan into it, once, with its windows (`windows`) and
  the steps that wait in crowds (`gather`): for one unit of one pool, as crates do for a hoist,
- `compiling` hands them over by their addresses and says how parts are compiled; `stamp` tells when anew,
- `order` puts the steps where those stand together that come together,
- `trial` makes the arrays of one trial, with the draw and the hours that `air` brings,
- `heaps`, `trees`, `scan`, `pools`, `stories`, `enablers`, `crowds` and `turns` are the compiled rule, each
  building on those before it; `crowds` is what keeps the time of a step the same however many wait,
- `outset` brings a trial into that order and its diary back; `events` holds what is to come,
- `play` is the compiled clock, `run` the way in from Python.
"""

import os
from importlib.util import find_spec
from pathlib import Path

CACHE = Path(__file__).parent / "__pycache__"


def available() -> bool:
    """Whether numba is there to compile the kernel, and works."""
    if find_spec("numba") is None:
        return False
    from towerpace.compiling.jit import numba

    return numba() is not None


def is_compiled_first(cache: Path = CACHE) -> bool:
    """Whether the next trial has to wait until the kernel is compiled, as far as its folder can tell.

    cache : where numba keeps what it compiled, unless it is told another folder or may not write there.
    """
    if not available() or "NUMBA_CACHE_DIR" in os.environ or not os.access(cache.parent, os.W_OK):
        return False
    return not any(cache.glob("play.*.nbi"))
