"""Workable hours by month and level band, from the record as it came and from the generator."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from towerpace.answers.ledger.waits import open_before
from towerpace.answers.open_years import Measure, OpenYears, months_from
from towerpace.units import Floats, Ints


@dataclass(frozen=True)
class Workable:
    """Hours of one operation in one band of levels and one month of the first project year. [h]

    shift_h : hours of the calendar. record_h : of these, workable in the record. generated_h : mean over
    the generated years, with its 10th and 90th percentile.
    """

    operation: str
    limits: tuple[str, ...]
    lowest: int
    highest: int
    month: str
    shift_h: float
    record_h: float
    generated_h: float
    generated_p10_h: float
    generated_p90_h: float


def workable_hours(start: date) -> Measure:
    """Open hours of each of the twelve months from the start, (12,). [h]"""
    edges, _ = months_from(start)

    def measure(spans: Ints) -> Floats:
        hours: Floats = np.diff(open_before(spans, edges)) / 60
        return hours

    return measure


def workable(years: Sequence[OpenYears], *, start: date) -> Iterator[Workable]:
    """Workable hours of every operation, band and month, from years measured by `workable_hours`."""
    _, months = months_from(start)
    for year in years:
        mean = year.generated.mean(axis=0)
        p10, p90 = np.percentile(year.generated, (10, 90), axis=0)
        for m, month in enumerate(months):
            yield Workable(
                *year.where(month),
                shift_h=float(year.calendar[m]),
                record_h=float(year.record[m]),
                generated_h=float(mean[m]),
                generated_p10_h=float(p10[m]),
                generated_p90_h=float(p90[m]),
            )
