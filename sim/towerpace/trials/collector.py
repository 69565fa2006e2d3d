"""Rest for the garbage collector while many objects are made that all stay.

A plan is hundreds of thousands of small objects without cycles. Looking at all of them again and again, as
they grow in number, took as long as making them.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """Have nothing collected meanwhile; nothing is lost by it, as most objects go when nobody holds them."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
