"""Python's garbage collector switched off while many objects are made that all stay.

A plan is hundreds of thousands of small objects without cycles. The collector looks at all
of them again and again while they grow in number, which took as long as making them.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """Switch the collector off inside the `with` block.

    Objects are still freed when the last reference to them goes; only objects that refer to each other in a
    circle wait until the collector is on again.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
