"""When what happens once begins and ends: activities, the mock-up, panels left out to the end."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from towerpace.answers.estimates import BEYOND, LATER, percentile
from towerpace.answers.forecast import Forecast
from towerpace.answers.measures import once_steps
from towerpace.answers.progress import ranked
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table, Value, interval

ONCE = Table(
    "activities",
    "When what happens once begins and is done",
    (
        Column("activity", Kind.NAME, " ", about="activity, the mock-up, or the panels left out to the end"),
        Column("begun_p50", Kind.DATE, "begun P50", about="half of the trials have begun it", blank=BEYOND),
        Column(
            "begun_p80", Kind.DATE, about="four trials in five have", blank=BEYOND, on=On.PROGRAMS | On.PAGE
        ),
        Column(
            "p50",
            Kind.DATE,
            "done P50",
            about="half of the trials have done it",
            blank=BEYOND,
            event="{activity} done, P50",
        ),
        Column(
            "p80",
            Kind.DATE,
            "done P80",
            about="four trials in five have",
            blank=BEYOND,
            event="{activity} done, P80",
        ),
        *interval("p80", Kind.DATE, about="end of the 95 % interval of P80", on=On.PROGRAMS | On.PAGE),
    ),
    about="begin and end of what happens once",
)


def once_rows(forecast: Forecast) -> Iterator[Row]:
    """A row for everything that happens once, in the order in which half of the trials have done it."""
    begun, done = (forecast.outcomes.values[name].T for name in ("once_begun", "once_done"))
    names = list(once_steps(forecast.tower))
    for k in np.argsort([ranked(ends, 0.5) for ends in done], kind="stable").tolist():
        # The end of its first minute always lies on the day on which it begins.
        first = np.where(begun[k] == LATER, LATER, begun[k] + 1)
        stamps = [percentile(x, p) for x in (first, done[k]) for p in (0.5, 0.8)]
        last = stamps[-1]
        ends_of = (last.low, last.high) if last.bounded else (None, None)
        yield names[k], *(_date(forecast, minute) for minute in (*(s.value for s in stamps), *ends_of))


def _date(forecast: Forecast, minute: int | None) -> Value:
    return None if minute is None else forecast.days.date_of(minute)
