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

from importlib import import_module
from importlib.util import find_spec

from towerpace.compiling.ahead import any_is_due


def available() -> bool:
    """Whether numba is there to compile the kernel, and works."""
    if find_spec("numba") is None:
        return False
    from towerpace.compiling.jit import numba

    return numba() is not None


def is_compiled_first() -> bool:
    """Whether the next trial has to wait until something is compiled: the kernel, what draws, what reads.

    Asked when all that a command calls is imported.
    """
    if not available():
        return False
    import_module(f"{__name__}.run")
    return any_is_due()
