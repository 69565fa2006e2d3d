"""Why the finish is where it is: the ledger of every hour, and what held the finish, if explained."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from towerpace.render.figures.causes import CALENDAR, WORK_GROUP, WORKING, group_of
from towerpace.render.figures.time import shares
from towerpace.render.page.figures import others, picture
from towerpace.render.page.model import (
    CHANCE,
    NUMBER,
    Block,
    Cell,
    Chapter,
    Para,
    Rows,
    cell,
    grid,
    grouped,
    number,
    words,
)
from towerpace.render.page.results import EXPLAIN, Part, Results
from towerpace.render.page.tables import blocks_of, by_trade
from towerpace.render.saved.forecast import Saved

if TYPE_CHECKING:
    from pandas import DataFrame

SHOWN = 12  # rows of a ranking on the page; all of them are in its table
_ABOUT = "Two clocks: hours inside the shift, and calendar days. The numbers stand in the two tables below."
_CAPTIONS = {
    WORKING: "Hours inside the shift, of all fronts together, in the mean of the trials",
    CALENDAR: "Calendar days that a front waits, in the mean of the trials",
}
_CLOCKS = {WORKING: "inside the shift", CALENDAR: "day and night"}


def why(part: Part, results: Results) -> Chapter:
    """Where the time goes; then, where an explanation has been given, what held the finish."""
    saved = Saved(part.tables, part.manifest)
    blocks: list[Block] = [
        Para(_largest(saved), strong=True),
        Para(
            "Every minute of every front stands under one cause. Work, crane moves, weather and waits for "
            "a gang are counted in hours inside the shift; waits for what has not come yet run day and night."
        ),
        *picture(part, "time", about=_ABOUT),
        *(_by_group(saved, clock) for clock in (WORKING, CALENDAR) if shares(saved, clock).size),
        _ledger(part.tables["ledger"]),
    ]
    found = results.found(EXPLAIN)
    if found is not None:
        blocks += _explained(*found)
    return Chapter("why", "Where the time goes", blocks)


def _largest(saved: Saved) -> str:
    groups = shares(saved, WORKING).sum()
    work = number(round(float(groups.get(WORK_GROUP, 0.0))))
    lost = groups.drop(WORK_GROUP, errors="ignore").sort_values(ascending=False).head(3)
    if not len(lost):
        return "Every hour inside the shift goes into work."
    names = [f"{name} ({number(round(float(hours)))} h)" for name, hours in lost.items()]
    return f"Of the hours inside the shift, {work} go into work. The largest losses are {_listed(names)}."


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _by_group(saved: Saved, clock: str) -> Block:
    table = shares(saved, clock)
    rows = [
        [Cell(words(str(trade))), *(cell(value, NUMBER) if value else Cell("") for value in values)]
        for trade, values in zip(table.index, table.to_numpy(float).tolist(), strict=True)
        if any(values)
    ]
    return grid(_CAPTIONS[clock], ("Trade", *map(str, table.columns)), rows)


def _ledger(ledger: DataFrame) -> Block:
    groups = []
    for trade, rows in by_trade(ledger):
        made = []
        for cause, hours in zip(rows["cause"].tolist(), rows["mean_h"].tolist(), strict=True):
            group = group_of(cause)
            clock = "outside the shift" if group is None else _CLOCKS[group.clock]
            made.append([Cell(cause), cell(hours, NUMBER), Cell(clock)])
        groups.append(Rows(made, words(trade)))
    columns = ("Cause", "mean [h]", "counted")
    return grouped("The whole ledger", columns, groups, note="Hours of all fronts together.", folded=True)


def _explained(part: Part, data: Mapping[str, Any]) -> Iterator[Block]:
    """What held the finish, longest first."""
    held, mean = data.get("held") or [], data.get("mean_finish_days")
    if held and mean is not None:
        most = [f"{words(h['trade'])}, {h['cause']} ({number(h['days'])} days)" for h in held[:3]]
        said = f"Walked back from the finish, the critical chain is {number(mean)} days long in the mean."
        yield Para(f"{said} Most of it: {'; '.join(most)}.", strong=True)
    if held:
        rows = [
            [Cell(words(h["trade"])), Cell(h["cause"]), cell(h["days"], NUMBER), cell(h["share"], CHANCE)]
            for h in held[:SHOWN]
        ]
        note = "" if len(held) <= SHOWN else f"The first {SHOWN} of {len(held)}."
        columns = ("Trade", "cause", "days of the finish", "share of trials")
        yield grid("What held the finish", columns, rows, note=note)
    if part.kind == EXPLAIN:
        yield from others(part, ())
        yield from blocks_of(part)
