"""Faults of many rows, listed up to a number that a reader can still use."""

from collections.abc import Callable

from towerpace.faults import Fault
from towerpace.units import Ints

MOST_LISTED = 20
FIRST_LINE = 2  # line 1 is the header


def row_faults(rows: Ints, *, file: str, key: str, found: Callable[[int], str], allowed: str) -> list[Fault]:
    """One fault for each row, and one that counts the rest when there are more than `MOST_LISTED`.

    Parameters
    ----------
    rows
        Row numbers from 0, shape (n,).
    found
        What stands in row i, in words.
    """
    shown = [Fault(file, int(i) + FIRST_LINE, key, found(int(i)), allowed, None) for i in rows[:MOST_LISTED]]
    if len(rows) > MOST_LISTED:
        rest = f"the same in {len(rows) - MOST_LISTED} further rows"
        shown.append(Fault(file, int(rows[MOST_LISTED]) + FIRST_LINE, key, rest, allowed, None))
    return shown
