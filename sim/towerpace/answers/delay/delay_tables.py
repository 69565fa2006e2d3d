"""The tables of a delay: what each holds, and its rows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from towerpace.answers.delay.delay import Delay
from towerpace.answers.delay.periods import middle
from towerpace.answers.delay.played import FINISH
from towerpace.answers.estimates import BEYOND
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import words
from towerpace.answers.said.tables import Column, Row, Table, interval
from towerpace.answers.update.update import mean_and_error
from towerpace.answers.update.update_tables import FILLED, REMARKS
from towerpace.units import DAY_MIN, HOUR_MIN, Floats

_95 = 1.96
TAIL = 0.05  # on either side of what nine trials in ten lie in
_NINE = "9 in 10"
_NO_ROOM = On.ALL & ~On.TERMINAL
_EVENT = Column("event", Kind.NAME, about="id of the event")


def _days(name: str, label: str, about: str, *, on: On = On.ALL, blank: str = "") -> Column:
    return Column(name, Kind.DAYS, label, about=about, signed=True, digits=1, on=on, blank=blank)


def _band(name: str) -> tuple[Column, Column]:
    about = "end of what nine trials in ten lie in"
    return interval(name, Kind.DAYS, label=_NINE, about=about, signed=True, digits=1)


EVENTS = Table(
    "events",
    "What each event cost the finish",
    (
        _EVENT,
        Column("what", Kind.TEXT, about="what befell"),
        Column("owner", Kind.NAME, about="who answers for it, as the file says", blank="-", on=_NO_ROOM),
        Column(
            "since", Kind.DATE, "from", about="first day; of what came late the day it was due", on=_NO_ROOM
        ),
        Column("until", Kind.DATE, "to", about="last day, or the day it came", blank="goes on", on=_NO_ROOM),
        _days("cost_days", "days", "finish with it less finish without it, mean of the trials"),
        *interval("cost_days", Kind.DAYS, about="end of that of the mean", signed=True, digits=1),
        *_band("trials_days"),
        _days("share_days", "share", "mean over all orders of what it adds to those before it", blank="-"),
        Column(
            "without_p50",
            Kind.DATE,
            "P50 without it",
            about="half of the trials finish by this day without it",
            blank=BEYOND,
            on=_NO_ROOM,
        ),
        _days(
            "unexplained_days",
            "not explained",
            "days by which the record is later than its replay from the begin of the event on",
            on=_NO_ROOM,
        ),
    ),
    about="what the finish would have been without each event, the others as they were, on the same draws",
    note=(
        "Days: each event taken out alone, mean with its 95 % interval, and what nine trials in ten lie in. "
        "Share: Shapley mean over the orders of all events, which adds up to all of them together."
    ),
)
BELOW_0 = (
    "Below 0: with the event work went in another order and met other weather, and ended sooner; where the "
    "interval holds 0 that is chance."
)
CONTRACTS = Table(
    "contract_days",
    "What each event cost the contract dates",
    (
        _EVENT,
        Column("contract", Kind.NAME, about="contract date"),
        _days("cost_days", "days", "by which the event made its work later, mean of the trials"),
        *interval("cost_days", Kind.DAYS, about="end of that of the mean", signed=True, digits=1),
        *_band("trials_days"),
    ),
    about="days by which each event made the work of each contract date later",
)
TOGETHER = Table(
    "together",
    "Events at the same time",
    (
        Column("event", Kind.NAME, "A", about="id of the one"),
        Column("other", Kind.NAME, "B", about="id of the other"),
        _days("alone_days", "A alone", "would not have come without A"),
        _days("other_alone_days", "B alone", "would not have come without B"),
        _days("either_days", "either", "either alone would have cost it; below 0 they compound"),
        _days("both_days", "together", "sum of the three"),
    ),
    about="days of every two events, the others as they were",
    note="Either: days that A and B would each have cost alone. Below 0 the two cost more than one by one.",
    most=15,
)
PERIODS = Table(
    "periods",
    "How the forecast moved",
    (
        Column("until", Kind.DATE, "period to", about="data date that ends the period"),
        Column("before", Kind.DATE, "P50 before", about="P50 of the finish as seen before it", blank=BEYOND),
        Column("after", Kind.DATE, "P50 after", about="P50 of the finish as seen at its end", blank=BEYOND),
        _days("moved_days", "moved by", "after less before"),
    ),
    about="P50 of the finish from data date to data date",
    note="The P50 of `towerpace update --events` with as many trials; other trials tell it some days apart.",
)
PARTS = Table(
    "parts",
    "What moved it, period by period",
    (
        Column("until", Kind.DATE, "period to", about="data date that ends the period"),
        Column("part", Kind.TEXT, " ", about="event, work and weather, or what the model does not explain"),
        _days("moved_days", "P50 moved by", "days of the move"),
    ),
    about="the move of every period, split over its events; the record is fixed to its begin",
    note="The parts of a period add up to its move; those of events are Shapley means.",
    groups=True,
)
PACED = Table(
    "paced",
    "May have been paced",
    (
        Column("front", Kind.TEXT, about="work, level and zone"),
        Column("observed_h", Kind.HOURS, "took [h]", about="open hours that it took", digits=1),
        *interval(
            "usual_h", Kind.HOURS, label="as learned", about="end of the 90 % band as learned", digits=1
        ),
        Column("slack_days", Kind.DAYS, "slack [d]", about="it had along the links", digits=1),
        Column("running_days", Kind.DAYS, "late [d]", about="what events had cost by its end", digits=1),
    ),
    about="fronts slower than their learned 90 % band while they had more slack than the delay that ran",
    note="Only listed: whether a front was slowed on purpose, those who were there must say.",
    most=12,
)
PACED_DAYS = Table(
    "paced_days",
    "The same if these fronts had gone as learned",
    (
        _EVENT,
        _days("cost_days", "as observed", "days of the event with the minutes that were observed"),
        _days("by_law_days", "as learned", "days of the event with the learned minutes of those fronts"),
    ),
    about="what each event cost with the minutes of the listed fronts as observed, and as learned",
)
NOT_STARTED = Table(
    "not_started",
    "Not started on site",
    (
        Column("trade", Kind.NAME, about="trade, or another row of the ledger"),
        Column("hours", Kind.HOURS, "hours", about="work areas together, mean of the trials", digits=0),
    ),
    about="hours that work waited though neither shift, weather, pool nor line that the record shows held it",
)
TRIALS = Table(
    "trials",
    "Finish of every trial",
    (
        _EVENT,
        Column("trial", Kind.COUNT, about="number of the trial, from 0"),
        Column("with_days", Kind.DAYS, about="days from the start to the finish with the event"),
        Column("without_days", Kind.DAYS, about="the same without it"),
    ),
    about="a row an event and trial; blank beyond the horizon",
    on=On.FILE,
)
DELAY_TABLES = (
    EVENTS,
    CONTRACTS,
    TOGETHER,
    PERIODS,
    PARTS,
    PACED,
    PACED_DAYS,
    NOT_STARTED,
    FILLED,
    REMARKS,
    TRIALS,
)


def delay_tables(of: Delay) -> tuple[Table, ...]:
    """Every table with its rows."""
    past = of.site.state.past
    return (
        _with_note(EVENTS.filled(_events(of))),
        _with_note(CONTRACTS.filled(_contracts(of))),
        TOGETHER.filled(_together(of)),
        PERIODS.filled(_periods(of)),
        PARTS.filled(_parts(of)),
        PACED.filled(_paced(of)),
        PACED_DAYS.filled(_paced_days(of)),
        NOT_STARTED.filled(of.not_started.items()),
        FILLED.filled(past.filled.items()),
        REMARKS.filled((r.file, ", ".join(map(str, r.lines)), r.text) for r in past.remarks),
        TRIALS.filled(_trials(of)),
    )


def _with_note(table: Table) -> Table:
    """The table, with what days below 0 mean where it has any."""
    below = [days for days in table.column("cost_days") if isinstance(days, float) and round(days, 1) < 0]
    return replace(table, note=f"{table.note} {BELOW_0}".strip()) if below else table


def mean_interval(days: Floats) -> tuple[float, float, float]:
    """Mean of some trials, and its 95 % interval; NaN of none. [d]"""
    mean, error = mean_and_error(days[np.isfinite(days)])
    return mean, mean - _95 * error, mean + _95 * error


def band(days: Floats) -> tuple[float, float, float]:
    """Mean of some trials, and the ends of what nine in ten lie in; NaN of none. [d]"""
    known = days[np.isfinite(days)]
    if not len(known):
        return float("nan"), float("nan"), float("nan")
    low, high = np.quantile(known, (TAIL, 1 - TAIL))
    return float(known.mean()), float(low), float(high)


def day_of(of: Delay, days: float) -> date | None:
    """The date so many days after the start; None beyond the horizon."""
    return None if not np.isfinite(days) else of.site.state.ready.days.date_of(round(days * DAY_MIN))


def _events(of: Delay) -> Iterator[Row]:
    shares = of.delays.together.shares
    for single in of.delays.singles:
        event = single.event
        share = band(shares[event.name])[0] if event.name in shares else None
        without = day_of(of, middle(single.without_it[FINISH]))
        unexplained = band(single.unexplained)[0]
        row = event.name, event.what, event.owner, event.since, event.until
        yield *row, *_cost(single.cost()), share, without, unexplained


def _cost(days: Floats) -> Row:
    return *mean_interval(days), *band(days)[1:]


def _contracts(of: Delay) -> Iterator[Row]:
    for single in of.delays.singles:
        for name in single.with_it:
            if name != FINISH:
                yield single.event.name, words(name), *_cost(single.cost(name))


def _together(of: Delay) -> Iterator[Row]:
    for (one, other), days in of.delays.together.pairs.items():
        parts = (days.alone, days.other_alone, days.either, days.both)
        yield one, other, *(band(part)[0] for part in parts)


def _periods(of: Delay) -> Iterator[Row]:
    for period in of.periods:
        moved = finite(period.after - period.before)
        yield period.until, day_of(of, period.before), day_of(of, period.after), moved


def _parts(of: Delay) -> Iterator[Row]:
    said = {event.name: f"{event.name}: {event.what}" for event in of.site.events}
    for period in of.periods:
        for part in period.parts:
            yield period.until, said.get(part.name, part.name), finite(part.days)


def finite(days: float) -> float | None:
    """The number, or None beyond the horizon."""
    return days if np.isfinite(days) else None


def _paced(of: Delay) -> Iterator[Row]:
    for front in of.paced:
        hours = (minutes / HOUR_MIN for minutes in (front.observed_min, front.low_min, front.high_min))
        yield words(front.place.said), *hours, front.slack_days, front.running_days


def _paced_days(of: Delay) -> Iterator[Row]:
    for single in of.delays.singles if of.by_law else ():
        name = single.event.name
        yield name, band(single.cost())[0], band(of.by_law[name])[0]


def _trials(of: Delay) -> Iterator[Row]:
    for single in of.delays.singles:
        pairs: Sequence[tuple[float, float]] = list(
            zip(single.with_it[FINISH].tolist(), single.without_it[FINISH].tolist(), strict=True)
        )
        for trial, (with_it, without_it) in enumerate(pairs):
            yield single.event.name, trial, finite(with_it), finite(without_it)
