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

from importlib.util import find_spec


def available() -> bool:
    """Whether numba is there to compile the kernel."""
    return find_spec("numba") is not None
