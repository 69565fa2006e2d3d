"""Draws and plans said in short: given works and dates, and many copies of one plan played at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from towerpace import Plan, Step
from towerpace.draws import Draw


def drawn(plan: Plan, *, work: ArrayLike | None = None, date: ArrayLike | None = None) -> Draw:
    """The draw with the given works and dates (rounded to whole minutes), nothing skipped. [min]"""
    return Draw(
        plan.work if work is None else whole(work),
        plan.date if date is None else whole(date),
        np.zeros(plan.n, dtype=np.bool_),
    )


def whole(values: ArrayLike) -> NDArray[np.int64]:
    """Whole minutes, flat. [min]"""
    return np.rint(np.asarray(values, dtype=np.float64)).astype(np.int64).reshape(-1)


def copies(steps: Sequence[Step], count: int) -> Plan:
    """A plan of independent copies: trial c of step k is compiled step c * len(steps) + k.

    For steps without pools and lags, whose trials cannot disturb each other.
    """
    return Plan(
        [
            replace(s, name=f"{c}:{s.name}", after=[f"{c}:{p}" for p in s.after])
            for c in range(count)
            for s in steps
        ]
    )
