"""The hours of a trial as the kernel reads them: values of a record, and which of its days come when."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple
from weakref import WeakKeyDictionary

import numpy as np

from towerpace.climate.hours import DealtHours, Hours, Variable, hours_from
from towerpace.climate.record import Record
from towerpace.engine.kernel.arrays import DAY_H
from towerpace.units import Flags, Floats, Ints


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
    if isinstance(hours, DealtHours):
        values = _of_record(hours.record, tuple(variables))
        return Air(values, hours.day_rows, hours.factors, DAY_H * len(hours.day_rows))
    columns = [hours.values(variable) for variable in variables]
    values = _stacked(columns, variables)
    n = values.shape[1]
    n_days = -(-n // DAY_H)
    return Air(values, np.arange(n_days), np.ones(n_days), n)


_STACKED: WeakKeyDictionary[Record, dict[tuple[Variable, ...], Floats]] = WeakKeyDictionary()


def _of_record(record: Record, variables: tuple[Variable, ...]) -> Floats:
    """Values of a record, stacked when first asked for: trials differ only in the order of its days."""
    known = _STACKED.setdefault(record, {})
    if variables not in known:
        every_day = np.arange(len(record.speed_m_s) // DAY_H)
        as_it_came = hours_from(record, every_day, factors=np.ones(len(every_day)))
        known[variables] = _stacked([as_it_came.values(variable) for variable in variables], variables)
    return known[variables]


def _stacked(columns: Sequence[Floats | Flags], variables: Sequence[Variable]) -> Floats:
    n = len(columns[0])
    values = np.empty((len(columns), n))
    for k, (variable, column) in enumerate(zip(variables, columns, strict=True)):
        if column.shape != (n,):
            raise ValueError(f"hours: {variable} has shape {column.shape}, the others have ({n},)")
        if column.dtype not in (np.float64, np.bool_):
            raise ValueError(f"hours: {variable} must be float64 or bool, got {column.dtype}")
        values[k] = column
    return values
