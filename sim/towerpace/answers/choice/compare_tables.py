"""The tables of a comparison: what each holds, and its rows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from towerpace.answers.choice.causes import CALENDAR_CLOCK, LEAST_H, SHIFT_CLOCK, CauseChange
from towerpace.answers.choice.compare import Compared
from towerpace.answers.choice.differences import COST, COST_DIFF, DAYS_DIFF, P80_DIFF, ends_of, in_unit
from towerpace.answers.cost import PARTS
from towerpace.answers.estimates import BEYOND, LATER, unseen_at_most
from towerpace.answers.forecast import Forecast
from towerpace.answers.forecast_tables import CONTRACT_EVENT, dates_of
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import number, share
from towerpace.answers.said.tables import Column, Row, Table, interval
from towerpace.units import DAY_MIN, Floats

CAUSES_SHOWN = 4
_SETUP = Column("setup", Kind.NAME, "set-up", about="name of the set-up; base is the scenario as it is")
_DIFF_H = Column("diff_h", Kind.HOURS, "hours", about="set-up less base, mean of a trial", signed=True)

SETUPS = Table(
    "setups",
    "Finish",
    (
        _SETUP,
        Column("setup_hash", Kind.NAME, about="SHA-256 of its scenario", on=On.PROGRAMS),
        Column("changes", Kind.TEXT, about="what it changes in the scenario", on=On.PROGRAMS | On.PAGE),
        Column(
            "p50",
            Kind.DATE,
            "P50",
            about="half of the trials finish by this day",
            blank=BEYOND,
            event="finish with {setup}, P50",
        ),
        *interval("p50", Kind.DATE, about="end of the 95 % interval of P50", on=On.PROGRAMS),
        Column(
            "p80",
            Kind.DATE,
            "P80",
            about="four trials in five do",
            blank=BEYOND,
            event="finish with {setup}, P80",
        ),
        *interval(
            "p80",
            Kind.DATE,
            label="95 % interval of P80",
            about="end of that of P80",
            blank="no interval",
            on=On.PROGRAMS | On.PAGE,
        ),
        Column("beyond_horizon", Kind.COUNT, about="trials that do not finish inside it", on=On.PROGRAMS),
    ),
    about="the finish of every set-up, the base first",
)
DIFFERENCES = Table(
    "differences",
    "Days of the finish, set-up less base under the same draws",
    (
        _SETUP,
        *DAYS_DIFF,
        *P80_DIFF,
        Column("beats_base", Kind.SHARE, "earlier in", about="share of the trials that finish earlier"),
        *interval("beats_base", Kind.SHARE, about="end of its 95 % interval", on=On.PROGRAMS),
    ),
    about="finish of every set-up less that of the base, trial by trial",
)
COSTS = Table(
    "costs",
    "Cost, mean of a trial",
    (_SETUP, COST, *COST_DIFF),
    about="what every set-up costs, and how much more than the base; no row without costs",
)
CONTRACTS = Table(
    "contracts",
    "Contract dates",
    (
        _SETUP,
        Column("contract", Kind.NAME, about="name of the contract date"),
        Column(
            "milestone", Kind.NAME, about="finish, or the closing-in of a level", on=On.PROGRAMS | On.PAGE
        ),
        Column("level", Kind.COUNT, about="level whose closing-in is due", on=On.PROGRAMS),
        Column("date", Kind.DATE, about="contract date", event=CONTRACT_EVENT),
        Column("chance", Kind.SHARE, about="share of the trials that meet it"),
        *interval("chance", Kind.SHARE, about="end of its 95 % interval"),
    ),
    about="chance of every contract date, by set-up",
    groups=True,
)
WHY = Table(
    "why",
    "The causes that change most, set-up less base",
    (
        _SETUP,
        Column("shift_hours", Kind.TEXT, "shift hours, all trades together", blank="no change"),
        Column("calendar_days", Kind.TEXT, "calendar days that a work area waits", blank="no change"),
    ),
    on=On.PEOPLE,
)
CAUSES = Table(
    "causes",
    "Causes over all trades, set-up less base",
    (
        _SETUP,
        Column("cause", Kind.NAME, about="what the time went into"),
        Column(
            "clock",
            Kind.NAME,
            about="shift: hours inside the shift; calendar: waits that run day and night",
        ),
        Column("base_h", Kind.HOURS, "base [h]", about="mean of a trial of the base"),
        _DIFF_H,
        *interval("diff_h", Kind.HOURS, about="end of its 95 % interval", signed=True),
        Column(
            "diff_days",
            Kind.DAYS,
            "days of a work area",
            about="the same as calendar days of each work area; none on the clock of the shift",
            signed=True,
        ),
        *interval("diff_days", Kind.DAYS, about="end of its 95 % interval", signed=True, on=On.PROGRAMS),
    ),
    about=f"causes that change by {LEAST_H:g} h or more, summed over all trades, the largest first",
    groups=True,
    folded=True,
    on=On.ALL & ~On.TERMINAL,
)
LEDGER_CHANGES = Table(
    "ledger_changes",
    "Hours by trade and cause, set-up less base",
    (
        _SETUP,
        Column("trade", Kind.NAME, about="trade, or another row of the ledger"),
        Column("cause", Kind.NAME, about="cause as the ledger of a forecast names it"),
        _DIFF_H,
    ),
    about=f"changes of {LEAST_H:g} h or more by trade",
    on=On.FILE,
)
PAIRED = Table(
    "paired",
    "Every trial of every set-up",
    (
        Column("trial", Kind.COUNT, about="number of the trial, from 0; the same draw in every set-up"),
        _SETUP,
        Column("finish_min", Kind.MINUTES, about="finish from the scenario's first midnight"),
        Column("finish", Kind.DATE, about="day of the finish; blank beyond the horizon"),
        Column("diff_days", Kind.DAYS, about="finish less that of the base", signed=True),
        COST,
        COST_DIFF[0],
    ),
    about="a row a set-up and trial",
    on=On.FILE,
)
COMPARE_TABLES = (SETUPS, DIFFERENCES, COSTS, CONTRACTS, WHY, CAUSES, LEDGER_CHANGES, PAIRED)


def compare_tables(compared: Sequence[Compared]) -> tuple[Table, ...]:
    """All tables of a comparison, in the order of `COMPARE_TABLES`."""
    costs = compared[0].forecast.costs
    unit = "" if costs is None else costs.unit
    return (
        SETUPS.filled(_setups(compared)),
        DIFFERENCES.filled(_differences(compared), note=_unknown(compared)),
        in_unit(COSTS, unit).filled(_costs(compared)),
        CONTRACTS.filled(_contracts(compared)),
        WHY.filled(_why(compared)),
        CAUSES.filled(_causes(compared)),
        LEDGER_CHANGES.filled(_ledger_changes(compared)),
        in_unit(PAIRED, unit).filled(_paired(compared)),
    )


def _setups(compared: Sequence[Compared]) -> Iterator[Row]:
    for variant in compared:
        forecast = variant.forecast
        changes = ", ".join(f"{key} = {value}" for key, value in variant.setup.changes.items())
        dates = (*dates_of(forecast, forecast.finish_at(0.5)), *dates_of(forecast, forecast.finish_at(0.8)))
        yield variant.setup.name, forecast.scenario.hash, changes, *dates, forecast.beyond


def _differences(compared: Sequence[Compared]) -> Iterator[Row]:
    for variant in compared[1:]:
        against = variant.against
        assert against is not None  # only the base has none
        beats = against.beats.value, against.beats.low, against.beats.high
        yield variant.setup.name, *ends_of(against.days), *ends_of(against.p80_days), *beats


def _unknown(compared: Sequence[Compared]) -> str:
    if any(variant.forecast.beyond for variant in compared):
        return "blank where some trials end beyond the horizon: no mean is known"
    same = [v for v in compared[1:] if np.array_equal(v.forecast.finish, compared[0].forecast.finish)]
    if not same:
        return ""
    names, trials = ", ".join(v.setup.name for v in same), compared[0].forecast.trials
    return f"no trial differs with {names}: {may_differ(trials)}"


def may_differ(trials: int) -> str:
    """What is known of a change that none of so many trials has shown."""
    return f"with none of {trials:,} up to {share(unseen_at_most(trials), digits=1)} of all may still differ"


def _costs(compared: Sequence[Compared]) -> Iterator[Row]:
    for variant in compared:
        mean = mean_cost(variant.forecast)
        if variant.forecast.cost is not None:
            more = None if variant.against is None else variant.against.money
            yield variant.setup.name, mean, *ends_of(more)


def mean_cost(forecast: Forecast) -> float | None:
    """Mean cost of a trial, None without costs or where trials lie beyond the horizon."""
    cost = forecast.cost
    return None if cost is None or forecast.beyond else float(cost.mean()) / PARTS


def _contracts(compared: Sequence[Compared]) -> Iterator[Row]:
    for variant in compared:
        for contract in variant.forecast.contracts:
            what = "finish" if contract.level is None else f"closing-in of L{contract.level}"
            met = contract.chance.value, contract.chance.low, contract.chance.high
            yield variant.setup.name, contract.name, what, contract.level, contract.date, *met


def _why(compared: Sequence[Compared]) -> Iterator[Row]:
    for variant in compared:
        if variant.against is not None:
            inside = [c for c in variant.against.causes if c.clock == SHIFT_CLOCK]
            waits = [c for c in variant.against.causes if c.clock == CALENDAR_CLOCK]
            yield variant.setup.name, _in_words(inside), _in_words(waits)


def _in_words(causes: Sequence[CauseChange]) -> str | None:
    """The largest changes, those below what is printed left out."""
    said = []
    for change in causes[:CAUSES_SHOWN]:
        moved = change.hours.mean if change.front_days is None else change.front_days.mean
        text = number(moved, digits=0 if change.front_days is None else 1, signed=True)
        if text.startswith(("+", "-")):
            said.append(f"{change.cause} {text}")
    return ", ".join(said) or None


def _causes(compared: Sequence[Compared]) -> Iterator[Row]:
    for variant in compared:
        for change in () if variant.against is None else variant.against.causes:
            hours, days = ends_of(change.hours), ends_of(change.front_days)
            yield variant.setup.name, change.cause, change.clock, change.base_h, *hours, *days


def _ledger_changes(compared: Sequence[Compared]) -> Iterator[Row]:
    before = _by_trade(compared[0].forecast)
    for variant in compared[1:]:
        after = _by_trade(variant.forecast)
        for trade, cause in {**before, **after}:
            hours = after.get((trade, cause), 0.0) - before.get((trade, cause), 0.0)
            if abs(hours) >= LEAST_H:
                yield variant.setup.name, trade, cause, hours


def _by_trade(forecast: Forecast) -> Mapping[tuple[str, str], float]:
    """Mean ledger hours by trade and cause. [h]"""
    hours: Floats = forecast.ledger_h
    taken = np.argwhere(hours > 0).tolist()
    return {(forecast.rows[row], forecast.causes[cause]): float(hours[row, cause]) for row, cause in taken}


def _paired(compared: Sequence[Compared]) -> Iterator[Row]:
    """Differences are blank where a trial of either lies beyond the horizon."""
    base = compared[0].forecast
    base_cost = _every_cost(base)
    for variant in compared:
        own, own_cost = variant.forecast, _every_cost(variant.forecast)
        for trial, finish in enumerate(own.finish.tolist()):
            known = finish != LATER
            shared = known and trial < base.trials and base.finish[trial] != LATER
            days = (finish - int(base.finish[trial])) / DAY_MIN if shared else None
            cost = own_cost[trial] if own_cost and known else None
            more = cost - base_cost[trial] if shared and cost is not None and base_cost else None
            when = (finish, own.days.date_of(finish)) if known else (None, None)
            yield trial, variant.setup.name, *when, days, cost, more


def _every_cost(forecast: Forecast) -> list[float]:
    """Cost of every trial; empty without costs."""
    cost = forecast.cost
    return [] if cost is None else (np.asarray(cost) / PARTS).tolist()
