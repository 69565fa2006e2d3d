"""What a user may call the engines; apart, as a command line that only helps needs none of them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Literal, get_args

EngineName = Literal["fastest", "compiled", "reference"]
ENGINES: tuple[EngineName, ...] = get_args(EngineName)
_ASKED: ContextVar[EngineName] = ContextVar("engine", default="fastest")


@contextmanager
def played_by(name: EngineName) -> Iterator[None]:
    """Have every job that is made inside the `with` block played by an engine, however deep it is made.

    A question makes jobs in a dozen places, and which engine plays them changes no number: it belongs to the
    whole question, not to each of them.
    """
    before = _ASKED.set(name)
    try:
        yield
    finally:
        _ASKED.reset(before)


def engine_asked() -> EngineName:
    """The engine that plays the jobs that are made now."""
    return _ASKED.get()
