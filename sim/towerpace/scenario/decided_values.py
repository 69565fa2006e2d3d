"""Values of decisions as they stand in the file: ranges written out, and what the file itself says."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from towerpace.scenario.changes import parse_key
from towerpace.scenario.complaints import RefusalError
from towerpace.scenario.raw import Tree, at

Plain = Any  # of a TOML file


def in_range(first: Plain, last: Plain, step: float, *, most: int) -> list[Plain]:
    """Numbers or dates from first to last, the last included where a step meets it; at most so many.

    >>> in_range(2, 5, 1, most=10), in_range(0.5, 0.9, 0.2, most=10)
    ([2, 3, 4, 5], [0.5, 0.7, 0.9])
    >>> in_range(dt.date(2027, 3, 1), dt.date(2027, 3, 20), 7, most=2)
    [datetime.date(2027, 3, 1), datetime.date(2027, 3, 8)]
    """
    if isinstance(first, dt.date):
        days = range(0, min((last - first).days, most * int(step) - 1) + 1, int(step))
        return [first + dt.timedelta(days=n) for n in days]
    # Steps are counted, so that a sum of tenths does not miss the last of them.
    count = min(int((last - first) / step + 1e-9) + 1, most)
    whole = all(isinstance(value, int) for value in (first, step))
    return [first + n * step if whole else round(first + n * step, 9) for n in range(count)]


def standing_value(tree: Tree, keys: Sequence[str]) -> Plain:
    """What the file states at the keys: one value if it is the same for all, else a list; None if nothing."""
    values = [_at(tree, key) for key in keys]
    return values[0] if all(value == values[0] for value in values) else values


def _at(tree: Tree, key: str) -> Plain:
    try:
        value = at(tree, parse_key(key))
    except RefusalError:
        return None
    return value["value"] if isinstance(value, dict) and "value" in value else value
