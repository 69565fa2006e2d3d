"""Numbers from the cells of a column, and the faults of those that are none or lie out of range."""

import math
from collections.abc import Sequence

import numpy as np

from towerpace.climate.columns import RecordColumn
from towerpace.climate.rows import row_faults
from towerpace.faults import Fault
from towerpace.units import Floats


def numbers(cells: Sequence[str]) -> Floats:
    """Values of the cells in the unit of the file: NaN where blank, infinite where it is no number."""
    return np.fromiter(map(_number, cells), dtype=np.float64, count=len(cells))


def number_faults(
    cells: Sequence[str], *, values: Floats, column: RecordColumn, file: str, blanks: bool
) -> list[Fault]:
    """Faults of one column.

    Parameters
    ----------
    values
        The cells as numbers in the unit of the record, shape (n_rows,).
    blanks
        True if a blank is no fault.
    """
    blank = np.isnan(values)
    quantity = column.quantity
    wrong = ~blank & ((values < quantity.low) | (values > quantity.high))
    if quantity.yes_or_no:
        wrong |= ~blank & (values != 0) & (values != 1)
    if not blanks:
        wrong |= blank
    return row_faults(
        np.flatnonzero(wrong),
        file=file,
        key=column.name,
        found=lambda i: cells[i] or "a blank",
        allowed=column.allowed,
    )


def _number(cell: str) -> float:
    if not cell:
        return math.nan
    try:
        value = float(cell)
    except ValueError:
        return math.inf
    # Python also reads "nan", "inf" and "1_0"; in a table of measurements they are mistakes.
    return value if math.isfinite(value) and "_" not in cell else math.inf
