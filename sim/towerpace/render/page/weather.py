"""The weather behind the answer: station, years and method, limits with their authority, hours lost."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from towerpace.answers.ledger.waits import WEATHER
from towerpace.render.page.allowance import allowance, limits_of
from towerpace.render.page.answer import records
from towerpace.render.page.assumptions import NO_SOURCE
from towerpace.render.page.model import (
    NUMBER,
    Block,
    Cell,
    Chapter,
    Para,
    cell,
    grid,
    heading,
    stem_and_unit,
    words,
)
from towerpace.render.page.results import BID, Part, Results

if TYPE_CHECKING:
    from pandas import DataFrame

_LIMIT, _WEATHER = "limit.", "weather."
_RESTART = "restart_min"


def weather(part: Part, results: Results) -> Chapter:
    """What the scenario says of weather, and what it took; a scenario without weather says so."""
    rows = records(part.tables["assumptions"])
    said = [one for one in rows if one["key"].startswith(_WEATHER)]
    limits = [one for one in rows if one["key"].startswith(_LIMIT)]
    if not said:
        lead = "The scenario has no weather: nothing in these results waits for wind, rain or cold."
        return Chapter("weather", "Weather", [Para(lead, strong=True)])
    blocks: list[Block] = [
        Para(
            "Wind, rain and cold come from a record of hours. A limit is a planning input, never "
            "permission to lift: the makers' limits, the lift plan, local law and the person on site govern."
        ),
        grid("The record and how it is used", ("What", "value", "source"), [_source_of(one) for one in said]),
    ]
    found = results.found(BID)
    data = {} if found is None else found[1]
    if limits:
        blocks += limits_of(data) or [_limits(limits)]
    blocks.append(_lost(part.tables["ledger"]))
    return Chapter("weather", "Weather", [*blocks, *allowance(data)])


def _source_of(one: Mapping[str, Any]) -> list[Cell]:
    source = Cell(one["source"]) if one["source"] else Cell("", flag=NO_SOURCE)
    return [Cell(heading(one["key"].removeprefix(_WEATHER))), Cell(one["text"]), source]


def _limits(rows: list[Mapping[str, Any]]) -> Block:
    """A row a limit: what stops the work, how long until it goes on, and who says so."""
    names = list(dict.fromkeys(one["key"].split(".")[1] for one in rows))
    made = []
    for name in names:
        own = {one["key"].split(".", 2)[2]: one for one in rows if one["key"].split(".")[1] == name}
        stops = [_stop(key, one["text"]) for key, one in own.items() if key != _RESTART]
        restart = cell(own[_RESTART]["text"] if _RESTART in own else None, NUMBER)
        authority = "; ".join(dict.fromkeys(one["source"] for one in own.values() if one["source"]))
        found = Cell(authority, flag="" if authority else NO_SOURCE)
        made.append([Cell(words(name)), Cell(", ".join(stops)), restart, found])
    columns = ("Limit", "stops", "restart after [min]", "authority")
    note = "Whether a wind limit is a gust or a mean stands beside it in the scenario file."
    return grid("Limits and the authority of each", columns, made, note=note)


def _stop(key: str, value: str) -> str:
    stem, unit = stem_and_unit(key)
    return f"{stem} {value} {unit}".strip()


def _lost(ledger: DataFrame) -> Block:
    """Hours inside the shift that each trade lost to each kind of weather."""
    own = ledger[ledger["cause"].isin(WEATHER)]
    causes = [cause for cause in WEATHER if cause in set(own["cause"])]
    if not causes:
        return Para("No trade lost an hour inside the shift to weather.")
    hours = {(t, c): h for t, c, h in zip(own["trade"], own["cause"], own["mean_h"], strict=True)}
    rows = [
        [Cell(words(trade)), *(cell(hours.get((trade, cause)), NUMBER) for cause in causes)]
        for trade in dict.fromkeys(own["trade"].tolist())
    ]
    note = (
        "Of all fronts together, in the mean of the trials. What ran on elsewhere meanwhile is not taken off."
    )
    return grid("Hours inside the shift lost to weather", ("Trade", *causes), rows, note=note)
