"""The tables of a forecast: what each holds, and its rows."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from towerpace.answers.estimates import BEYOND, LATER, Percentile
from towerpace.answers.forecast import PERCENTILES, Forecast, percentile_names
from towerpace.answers.ledger.book import BY_CLOCK, in_calendar_time
from towerpace.answers.ledger.waits import SHIFT, WEATHER
from towerpace.answers.limits_table import LIMITS, limit_rows
from towerpace.answers.once import ONCE, once_rows
from towerpace.answers.portable import portable
from towerpace.answers.progress import FLOW, S_CURVE, flow_rows, s_curve_rows
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table, interval
from towerpace.units import DAY_MIN

NO_INTERVAL = "no interval"
CONTRACT_EVENT = "contract date {contract}: {milestone}"
_CAUSES_SHOWN = 5
_LEVELS_SHOWN = 12
_LEVEL = Column("level", Kind.COUNT, about="number of the level")
_HEIGHT = Column(
    "height_m", Kind.NUMBER, "height [m]", unit="m", about="of the level above ground", on=On.PROGRAMS
)

PERCENTILE = Table(
    "percentiles",
    "Finish",
    (
        Column("percentile", Kind.NAME, " ", about="P80: four trials in five finish by this day"),
        Column(
            "finish",
            Kind.DATE,
            "date",
            about="day of the finish",
            blank=BEYOND,
            event="finish, {percentile}",
        ),
        *interval("finish", Kind.DATE, about="end of its 95 % interval", blank=NO_INTERVAL),
        Column("working_day", Kind.WORKING_DAY, about="working days from the start to that day"),
    ),
    about="finish dates by confidence",
)
CONTRACT = Table(
    "contracts",
    "Contract dates",
    (
        Column("contract", Kind.NAME, " ", about="name of the contract date"),
        Column("milestone", Kind.NAME, "what", about="finish, or the closing-in of a level"),
        Column("level", Kind.COUNT, about="level whose closing-in is due", on=On.PROGRAMS),
        Column("date", Kind.DATE, about="contract date", event=CONTRACT_EVENT),
        Column("chance", Kind.SHARE, about="share of the trials that meet it", digits=1),
        *interval("chance", Kind.SHARE, about="end of its 95 % interval", digits=1),
    ),
    about="chance of every contract date, and of all together",
)
CLOSING_IN = Table(
    "closing_in",
    "Closing-in: when a level is weathertight and released to interiors",
    (
        _LEVEL,
        _HEIGHT,
        Column(
            "p50",
            Kind.DATE,
            "P50",
            about="half of the trials have closed the level in",
            blank=BEYOND,
            event="closing-in of L{level}, P50",
        ),
        *interval("p50", Kind.DATE, about="end of the 95 % interval of P50", on=On.PROGRAMS),
        Column(
            "p80",
            Kind.DATE,
            "P80",
            about="four trials in five have",
            blank=BEYOND,
            event="closing-in of L{level}, P80",
        ),
        *interval(
            "p80", Kind.DATE, label="95 % interval of P80", about="end of that of P80", blank=NO_INTERVAL
        ),
        Column("contract_date", Kind.DATE, about="contract date of the level", on=On.PROGRAMS | On.PAGE),
    ),
    about="when each level is closed in",
    most=_LEVELS_SHOWN,
)
TIME = Table(
    "where_time_goes",
    "Where the time goes, average of all trials",
    (
        Column("trade", Kind.NAME, " "),
        Column("shift_hours", Kind.TEXT, "shift hours, all work areas together"),
        Column("calendar_days", Kind.TEXT, "calendar days that a work area waits, or activities take"),
    ),
    on=On.PEOPLE,
)
LEDGER = Table(
    "ledger",
    "Hours by trade and cause, average of all trials",
    (
        Column("trade", Kind.NAME, about="trade, or another row of the ledger"),
        Column("cause", Kind.NAME, about="what the time went into"),
        Column("mean_h", Kind.HOURS, "hours", about="mean of a trial"),
    ),
    about="where the time goes; causes that took no minute are left out",
    groups=True,
    folded=True,
    on=On.ALL & ~On.TERMINAL,
)
LEDGER_BY_LEVEL = Table(
    "ledger_by_level",
    "Hours by trade, level and cause, average of all trials",
    (LEDGER.columns[0], _LEVEL, *LEDGER.columns[1:]),
    about="the ledger level by level",
    groups=True,
    folded=True,
    on=On.FILE | On.PAGE,
)
FINISH = Table(
    "finish",
    "Finish of every trial",
    (
        Column("trial", Kind.COUNT, about="number of the trial, from 0"),
        Column("finish_min", Kind.MINUTES, about="finish from the scenario's first midnight"),
        Column("finish", Kind.DATE, about="day of the finish; blank beyond the horizon"),
        Column(
            "closing_in",
            Kind.TEXT,
            about="days from the start to the closing-in of each level, lowest first; - beyond the horizon",
        ),
    ),
    about="a row a trial",
    on=On.FILE,
)
BY_DAY = Table(
    "finish_by_day",
    "The curve in numbers",
    (
        Column("finish", Kind.DATE, "day", about="day on which some trial finishes"),
        Column("trials", Kind.COUNT, "trials that finish", about="on that day"),
        Column("finished", Kind.COUNT, "finished by then", about="trials up to that day"),
        Column("share", Kind.SHARE, about="of all trials"),
    ),
    about="how many trials finish on each day",
    folded=True,
    on=On.ALL & ~On.TERMINAL,
)
WEATHER_LOST = Table(
    "weather_lost",
    "Shift hours lost to weather, all work areas together, average of all trials",
    (
        Column("trade", Kind.NAME, about="trade, or another row of the ledger"),
        Column("cause", Kind.NAME, "weather", about="wind, rain, cold ..."),
        Column("mean_h", Kind.HOURS, "hours", about="mean of a trial"),
    ),
    about="what weather took of the shifts",
    note="What ran on elsewhere meanwhile is not taken off.",
    groups=True,
    on=On.ALL & ~On.TERMINAL,
)
ASSUMPTIONS = Table(
    "assumptions",
    "Assumptions",
    (
        Column("key", Kind.NAME, about="key of the scenario"),
        Column("assumption", Kind.TEXT, about="its value in words"),
        Column("source", Kind.TEXT, about="where it comes from", blank="no source"),
        Column("rests_on", Kind.NAME, about="published, memory, practice, invented or blank"),
    ),
    about="every number that decides an answer, those that nobody stands for first",
    folded=True,
    appendix=True,
    on=On.ALL & ~On.TERMINAL,
)
FORECAST_TABLES = (
    PERCENTILE,
    CLOSING_IN,
    CONTRACT,
    ONCE,
    TIME,
    LEDGER,
    LEDGER_BY_LEVEL,
    WEATHER_LOST,
    FLOW,
    S_CURVE,
    BY_DAY,
    FINISH,
    LIMITS,
    ASSUMPTIONS,
)


def forecast_tables(forecast: Forecast) -> tuple[Table, ...]:
    """All tables of a forecast, in the order of `FORECAST_TABLES`."""
    return (
        PERCENTILE.filled(_percentiles(forecast)),
        CLOSING_IN.filled(_closing_in(forecast)),
        CONTRACT.filled(contract_rows(forecast)),
        ONCE.filled(once_rows(forecast)),
        TIME.filled(_time(forecast)),
        LEDGER.filled(_ledger(forecast)),
        LEDGER_BY_LEVEL.filled(_ledger_by_level(forecast)),
        WEATHER_LOST.filled(row for row in _ledger(forecast) if row[1] in WEATHER),
        FLOW.filled(flow_rows(forecast)),
        S_CURVE.filled(s_curve_rows(forecast)),
        BY_DAY.filled(_by_day(forecast), note=_late(forecast)),
        FINISH.filled(finish_rows(forecast)),
        LIMITS.filled(limit_rows(forecast.scenario.settings)),
        ASSUMPTIONS.filled(_assumptions(forecast)),
    )


def _percentiles(forecast: Forecast) -> Iterator[Row]:
    for name, p in zip(percentile_names(), PERCENTILES, strict=True):
        estimate = forecast.finish_at(p)
        worked = None if estimate.value is None else forecast.days.working_day(estimate.value)
        yield (name, *dates_of(forecast, estimate), worked)


def dates_of(forecast: Forecast, estimate: Percentile) -> Row:
    """Date of a percentile and of the ends of its interval; None beyond the horizon or without interval."""
    minutes = (estimate.value, *((estimate.low, estimate.high) if estimate.bounded else (None, None)))
    return tuple(None if minute is None else forecast.days.date_of(minute) for minute in minutes)


def _closing_in(forecast: Forecast) -> Iterator[Row]:
    stated = sorted(
        (c.level, c.date) for c in forecast.scenario.settings.contract.values() if c.level is not None
    )
    both = zip(forecast.closing_in(0.5), forecast.closing_in(0.8), strict=True)
    for floor, ((level, half), (_, four_fifths)) in enumerate(both):
        due = next((date for on, date in stated if on == level), None)
        height_m = float(forecast.scenario.levels.height_m[floor])
        yield (level, height_m, *dates_of(forecast, half), *dates_of(forecast, four_fifths), due)


def contract_rows(forecast: Forecast) -> Iterator[Row]:
    """Chance of every contract date, and of all together."""
    for contract in forecast.contracts:
        what = "finish" if contract.level is None else f"closing-in of L{contract.level}"
        met = contract.chance
        yield contract.name, what, contract.level, contract.date, met.value, met.low, met.high
    joint = forecast.joint
    if joint is not None and len(forecast.contracts) > 1:
        yield "all together", "", None, None, joint.value, joint.low, joint.high


def _time(forecast: Forecast) -> Iterator[Row]:
    """The largest causes of each trade, without the hours outside the shift."""
    by_clock = forecast.causes.index(BY_CLOCK) if BY_CLOCK in forecast.causes else None
    for row, hours in zip(forecast.rows, forecast.ledger_h, strict=True):
        # What takes days by the clock itself, an approval or a delay, belongs to no front.
        n_fronts = 1 if by_clock is not None and hours[by_clock] else len(forecast.tower.fronts)
        by_cause = sorted(zip(map(float, hours), forecast.causes, strict=True), reverse=True)
        known = [(h, cause) for h, cause in by_cause if cause != SHIFT]
        if not known or not known[0][0]:
            continue
        within = [f"{cause} {h:,.0f}" for h, cause in known if not in_calendar_time(cause) and h >= 0.5]
        waits = [(h / 24 / n_fronts, c.removeprefix("after ")) for h, c in known if in_calendar_time(c)]
        days = [f"{cause} {d:.1f}" for d, cause in waits if d >= 0.05]
        yield row, ", ".join(within[:_CAUSES_SHOWN]), ", ".join(days[:_CAUSES_SHOWN])


def _ledger(forecast: Forecast) -> Iterator[Row]:
    hours = forecast.ledger_h
    for row, cause in np.argwhere(hours > 0).tolist():
        yield forecast.rows[row], forecast.causes[cause], float(hours[row, cause])


def _ledger_by_level(forecast: Forecast) -> Iterator[Row]:
    hours = forecast.ledger_by_level_h
    for row, floor, cause in np.argwhere(hours > 0).tolist():
        value = float(hours[row, floor, cause])
        yield forecast.rows[row], forecast.tower.levels[floor], forecast.causes[cause], value


def finish_rows(forecast: Forecast) -> Iterator[Row]:
    """Finish and closing-ins, a row a trial."""
    closed = forecast.outcomes.values["closing_in"]
    days = np.where(closed == LATER, -1, np.maximum(0, closed - 1) // DAY_MIN).tolist()
    for trial, (minute, levels) in enumerate(zip(forecast.finish.tolist(), days, strict=True)):
        known = minute != LATER
        by_level = " ".join("-" if day < 0 else str(day) for day in levels)
        yield trial, minute if known else None, forecast.days.date_of(minute) if known else None, by_level


def _by_day(forecast: Forecast) -> Iterator[Row]:
    known = np.sort(forecast.finish[forecast.finish != LATER])
    days, counts = np.unique([forecast.days.day(int(minute)) for minute in known], return_counts=True)
    done = 0
    for day, count in zip(days.tolist(), counts.tolist(), strict=True):
        done += count
        yield forecast.days.date_of((day + 1) * DAY_MIN), count, done, done / forecast.trials


def _late(forecast: Forecast) -> str:
    late = forecast.beyond
    return f"{late} trials finish after the last day played." if late else ""


_STRENGTH = ("blank", "invented", "practice", "memory", "published")


def _assumptions(forecast: Forecast) -> Iterator[Row]:
    weakest_first = sorted(forecast.scenario.assumptions(), key=lambda a: _STRENGTH.index(a.kind))
    for assumption in weakest_first:
        yield assumption.key, portable(assumption.text), assumption.source, assumption.kind
