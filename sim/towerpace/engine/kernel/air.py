"""The hours of a trial as the kernel reads them: values of a record, and which of its days come when."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from towerpace.engine.kernel.columns import DAY_H
from towerpace.weather.hours import Hours, Variable

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


class Air(NamedTuple):
    """Hour h of the project is hour h mod 24 of record day rows[h // 24]; wind is times factors[h // 24].

    values : (n_variables, n_record_hours), in the order that the plan's limits count them.
    rows, factors : (n_days,). [-]
    n_hours : hours of the project; no later hour is bad.
    """

    values: Floats
    rows: Ints
    factors: Floats
    n_hours: int


def air_of(hours: Hours | None, variables: Sequence[Variable]) -> Air:
    """The hours of one trial, as far as limits compare them.

    Raises
    ------
    ValueError
        If there are limits and no hours, a column is missing, or the columns do not fit together.
    """
    if not variables:
        return Air(np.zeros((0, 0)), np.zeros(0, dtype=np.int64), np.zeros(0), 0)
    if hours is None:
        raise ValueError("some windows have weather limits, so the draw must bring the hours")
    columns = [hours.values(variable) for variable in variables]
    n = len(columns[0])
    values = np.empty((len(columns), n))
    for k, (variable, column) in enumerate(zip(variables, columns, strict=True)):
        if column.shape != (n,):
            raise ValueError(f"hours: {variable} has shape {column.shape}, the others have ({n},)")
        if column.dtype not in (np.float64, np.bool_):
            raise ValueError(f"hours: {variable} must be float64 or bool, got {column.dtype}")
        values[k] = column
    n_days = -(-n // DAY_H)
    return Air(values, np.arange(n_days), np.ones(n_days), n)
