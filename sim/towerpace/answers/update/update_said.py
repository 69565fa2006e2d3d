"""An update as everybody gets it: before and now, what moved it, what the site taught, remarks and trend."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from towerpace.answers import methods
from towerpace.answers.cautions import LIMITS_CAUTION
from towerpace.answers.estimates import BEYOND, LATER, Percentile, percentile
from towerpace.answers.forecast import PERCENTILES, Forecast, percentile_names
from towerpace.answers.forecast_tables import (
    CONTRACT,
    contract_rows,
    dates_of,
    finish_rows,
)
from towerpace.answers.forecast_tables import FINISH as TRIALS
from towerpace.answers.learn.learned_said import (
    LEARNING,
    chance_table,
    learned_sentences,
    learned_tables,
    loss_sentences,
)
from towerpace.answers.portable import portable
from towerpace.answers.progress import flow_rows
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer, Method
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day as day_said
from towerpace.answers.said.people import number, words
from towerpace.answers.said.tables import Chapter, Column, Fact, Row, Table
from towerpace.answers.update.held_said import held_sentence, held_table
from towerpace.answers.update.update import Updated, mean_and_error
from towerpace.answers.update.update_tables import (
    CLOSING_IN,
    DONE,
    FILLED,
    FINISH,
    MOVES,
    REMARKS,
    SCENARIO_THEN,
    TREND,
    UPDATE_FLOW,
)
from towerpace.plan.arrays import NONE
from towerpace.plan.site.tower import CLOSING_IN as CLOSED_IN
from towerpace.units import DAY_MIN

UPDATE_FIGURES = ("trend", "flow", "learned")
_95 = 1.96

PINNED = Method(
    "Every trial goes on from what the site has recorded: finished work keeps its dates, work in progress "
    "has the rest of this trial's minutes left, all else begins at the data date or later. Times that nobody "
    "told only keep the order of the plan."
)


def said(updated: Updated) -> Answer:
    """The update as everybody gets it."""
    state, now = updated.state, updated.now
    learned = [*learned_tables(state.seen), chance_table(state.losses)]
    tables = (
        FINISH.filled(_finish(updated), note=f"Before: as seen {before_said(updated)}."),
        MOVES.filled(_moves(updated)),
        CONTRACT.filled(_contracts(updated)),
        held_table(updated),
        CLOSING_IN.filled(_closing_in(updated)),
        *learned,
        DONE.filled(_done(updated)),
        FILLED.filled(state.past.filled.items()),
        REMARKS.filled(_remarks(updated)),
        _trend_table(updated),
        UPDATE_FLOW.filled(_flow(updated)),
        TRIALS.filled(finish_rows(now)),
    )
    return Answer(
        question="update",
        about="What the finish date is worth now",
        run=run_of(now.scenario, now.tower, seed=now.seed, trials=now.trials, asked=now.asked),
        said=_said(updated),
        facts=_facts(updated),
        tables=tables,
        chapters=_chapters(updated, [table.name for table in learned]),
        cautions=[UNPROVEN, LIMITS_CAUTION],
        figures=[name for name in UPDATE_FIGURES if name != "learned" or _has_learned(updated)],
        methods=[methods.SCHEDULE, PINNED, LEARNING, methods.RANKS],
    )


def _contracts(updated: Updated) -> Iterator[Row]:
    """Chances of the contract dates; of what is built they are no estimates and have no interval."""
    tower, past = updated.now.tower, updated.state.past
    for name, what, level, due, chance, low, high in contract_rows(updated.now):
        built = level is not None and past.ended[tower.closing_in[tower.levels.index(level)]] != NONE
        yield name, what, level, due, chance, *((chance, chance) if built else (low, high))


def _has_learned(updated: Updated) -> bool:
    return any(trade.told is not None for trade in updated.state.seen.trades)


def _chapters(updated: Updated, learned: list[str]) -> list[Chapter]:
    state = updated.state
    sentences = (*learned_sentences(state.seen), *loss_sentences(state.losses))
    return [
        Chapter("At the data date", (_record(updated),), on=On.TERMINAL),
        Chapter("What the finish is worth now", (_said(updated),), ("percentiles", "moves", "contracts")),
        Chapter("Against the baseline", (held_sentence(updated),), ("baseline",)),
        Chapter("When each level is closed in", shows=("closing_in",)),
        Chapter("What the site has shown", sentences, learned),
        Chapter("The forecast over time", shows=("trend",)),
        Chapter("How the work climbs", shows=("flow",), on=On.PAGE),
        Chapter("What is recorded", (_filled(updated),), ("done", "filled_in", "remarks")),
    ]


def _record(updated: Updated) -> str:
    record = updated.state.record
    return (
        f"Data date {day_said(record.at)}, record {record.hash[:12]}, {len(record.progress.reports):,} rows, "
        f"{len(record.log.entries):,} entries of the log."
    )


def _filled(updated: Updated) -> str:
    past = updated.state.past
    n, links, remarks = sum(past.filled.values()), len(past.let_go), len(list(_remarks(updated)))
    return (
        f"{n:,} steps filled in that nobody reported; "
        f"{remarks:,} {'remark' if remarks == 1 else 'remarks'}; "
        f"{links:,} {'link' if links == 1 else 'links'} of the plan let go."
    )


UNPROVEN = (
    "Forecasts from a record are right about as often as they say on simulated sites that obey the model; no "
    "real site has been held against them. Judge with those who are on site."
)


def _said(updated: Updated) -> str:
    before, now = (forecast.finish_at(0.8) for forecast in (updated.before, updated.now))
    if now.value is None:
        return "Fewer than four trials in five finish inside the horizon now."
    when = f"Four trials in five finish by {_on(updated.now, now)} now"
    then = before_said(updated)
    if before.value is None:
        return f"{when}; {then} fewer did inside the horizon."
    days = (now.value - before.value) / DAY_MIN
    by = f"{number(abs(days), digits=1)} days {'later' if days > 0 else 'earlier'} than"
    said = f"{when}, {'as' if round(days, 1) == 0 else by} {then}."
    return f"{said} {_of_scenario(updated)}".rstrip()


def _of_scenario(updated: Updated) -> str:
    """How much of it is due to another scenario; "" where it is the same."""
    if not updated.scenario_changed:
        return ""
    *_, before, now = (stage.forecast.finish_at(0.8).value for stage in updated.stages)
    if now is None or before is None:
        return "The scenario has changed since."
    days = number((now - before) / DAY_MIN, digits=1, signed=True)
    return f"The scenario has changed since, which moves that day by {days} days."


def before_said(updated: Updated) -> str:
    """When "before" was: at the start, or at the data date of the last update."""
    day = None if updated.since is None else updated.since.day
    return "at the start" if day is None else f"on {day_said(day)}"


def _on(forecast: Forecast, at: Percentile) -> str:
    assert at.value is not None, "asked for only inside the horizon"
    return day_said(forecast.days.date_of(at.value))


def _facts(updated: Updated) -> list[Fact]:
    record, past = updated.state.record, updated.state.past
    standing = updated.standing_finish
    moved = None if standing is None else standing.moved_days
    return [
        Fact(Column("data_date", Kind.DATE, about="day at whose end the site was seen"), record.at),
        Fact(Column("record_hash", Kind.NAME, about="SHA-256 of the files of the record"), record.hash),
        Fact(Column("rows", Kind.COUNT, about="rows of the sheet"), len(record.progress.reports)),
        Fact(Column("filled_in", Kind.COUNT, about="steps filled in"), sum(past.filled.values())),
        Fact(Column("let_go", Kind.COUNT, about="links of the plan let go"), len(past.let_go)),
        Fact(Column("baseline_finish", Kind.DATE, about="finish of the baseline"), updated.held.finish),
        Fact(
            Column("baseline_moved_days", Kind.DAYS, about="by which it is later than that now"),
            moved,
        ),
    ]


def _finish(updated: Updated) -> Iterator[Row]:
    for name, p in zip(percentile_names(), PERCENTILES, strict=True):
        before, now = (forecast.finish_at(p) for forecast in (updated.before, updated.now))
        yield (
            name,
            *dates_of(updated.before, before),
            *dates_of(updated.now, now),
            _days(now.value, before.value),
        )


def _days(now: int | None, before: int | None) -> float | None:
    return None if now is None or before is None else (now - before) / DAY_MIN


def _moves(updated: Updated) -> Iterator[Row]:
    for k, stage in enumerate(updated.stages[1:], start=1):
        mean, error = mean_and_error(updated.moved_days(k))
        moved = [
            _days(stage.forecast.finish_at(p).value, updated.stages[k - 1].forecast.finish_at(p).value)
            for p in (0.5, 0.8)
        ]
        yield stage.name, *moved, mean, mean - _95 * error, mean + _95 * error


def _closing_in(updated: Updated) -> Iterator[Row]:
    past, now = updated.state.past, updated.now
    closed = [bool(past.ended[step] >= 0) for step in now.tower.closing_in.tolist()]
    rows = zip(updated.before.closing_in(0.5), now.closing_in(0.5), now.closing_in(0.8), closed, strict=True)
    for (level, before), (_, half), (_, four_fifths), built in rows:
        standing = updated.standings.get((CLOSED_IN, level))
        yield (
            level,
            dates_of(updated.before, before)[0],
            *dates_of(now, half),
            dates_of(now, four_fifths)[0],
            *((None, None) if standing is None else (standing.held, standing.moved_days)),
            built,
        )


def _done(updated: Updated) -> Iterator[Row]:
    for what, (units, total) in updated.state.past.done.items():
        if units:
            yield what, units, total, units / total


def _remarks(updated: Updated) -> Iterator[Row]:
    if updated.scenario_changed and updated.since is not None:
        since = updated.since
        when = "the start" if since.day is None else day_said(since.day)
        text = f"the scenario has changed since {when}: what was forecast up to then is told as it was"
        yield portable(updated.now.scenario.path), "", text
    if (told := _told_otherwise(updated)) is not None:
        yield told
    for remark in updated.state.past.remarks:
        yield remark.file, ", ".join(map(str, remark.lines)), remark.text


def _told_otherwise(updated: Updated) -> Row | None:
    """A remark where the results that an update goes on from tell another P80 than it finds for that day."""
    since, before = updated.since, updated.before
    found = before.finish_at(0.8).value
    ours = None if found is None else before.days.date_of(found)
    if since is None or since.told is None or since.told.p80 == ours:
        return None
    theirs, here = (BEYOND if at is None else day_said(at) for at in (since.told.p80, ours))
    text = (
        f"its P80 is {theirs}, and before is {here} here: it was played with other trials, another seed, "
        "another record or other options"
    )
    return since.told.folder, "", text


def _flow(updated: Updated) -> Iterator[Row]:
    """The flow of the trades, with the date of the baseline of each."""
    for row in flow_rows(updated.now):
        trade, level = str(row[0]), row[1]
        yield *row, updated.held.by_place.get((trade, level if isinstance(level, int) else None))


def _trend_table(updated: Updated) -> Table:
    """The trend; a scenario that has changed has a column of its own for all who read it."""
    table = TREND.filled(_trend(updated))
    if not updated.scenario_changed:
        return table
    return replace(table, columns=(*table.columns[:-1], replace(SCENARIO_THEN, on=On.ALL)))


def _trend(updated: Updated) -> Iterator[Row]:
    for point in updated.trend:
        then = "as it was" if point.earlier else None
        dates: list[date | None] = []
        for p in (0.1, 0.5, 0.8):
            value = percentile(point.forecast.finish, p).value
            dates.append(None if value in (None, LATER) else point.forecast.days.date_of(int(value or 0)))
        contracts = point.forecast.contracts
        if not contracts:
            yield point.day, *dates, None, None, then
        for contract in contracts:
            yield point.day, *dates, words(contract.name), contract.chance.value, then
