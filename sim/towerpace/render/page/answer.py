"""The first page: the answer in words, the curve, and the tables of what can be promised."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from towerpace.render.page.curve import curve
from towerpace.render.page.model import (
    CHANCE,
    DATE,
    NUMBER,
    Block,
    Cell,
    between,
    cell,
    chance,
    day,
    grid,
    unbroken,
    words,
)
from towerpace.render.saved.forecast import Saved

if TYPE_CHECKING:
    from pandas import DataFrame

_CURVE_TITLE = "Share of the trials that have finished by each day"
_CURVE_ABOUT = (
    "The line climbs from no trial to all of them. Dots mark percentiles, bars their 95 % intervals. "
    "The numbers stand in the tables below."
)


def headline(saved: Saved) -> str:
    """The answer: when four of five trials finish, and how likely the contract dates are."""
    return unbroken(" ".join([_finish(saved), *_contracts(saved.tables["contracts"])]))


def _finish(saved: Saved) -> str:
    at = {one["p"]: one for one in records(saved.tables["percentiles"])}
    names = ("finish_date", "low_date", "high_date")
    fifths, low, high = (cell(at[0.8][name], DATE).text for name in names)
    last = day(date.fromisoformat(saved.manifest.horizon_date))
    if saved.manifest.trials == 1:
        only = cell(saved.tables["finish"]["finish_date"].iloc[0], DATE).text
        return f"The only trial finishes on {only}." if only else f"The only trial does not finish by {last}."
    if fifths:
        interval = f" ({_without_year(low, high)} to {high})" if low and high else ""
        interval = " (that very day in the whole 95 % interval)" if low == high == fifths else interval
        return f"Four of five trials finish by {fifths}{interval}."
    half = cell(at[0.5]["finish_date"], DATE).text
    if half:
        return f"Half of the trials finish by {half}, fewer than four of five by {last}, the last day played."
    return f"Fewer than half of the trials finish by {last}, the last day played."


def _without_year(low: str, high: str) -> str:
    """The first of two dates, without the year that the second says again."""
    same = low[-4:] == high[-4:]
    return low[:-5] if same else low


def _contracts(table: DataFrame) -> Iterator[str]:
    rows = records(table)
    dates = [one for one in rows if one["kind"] != "joint"]
    for one in rows:
        met = f"{chance(one['chance'])} ({between(one['low_chance'], one['high_chance'])})"
        on = cell(one["contract_date"], DATE).text
        if one["kind"] == "finish":
            yield f"The contract date of {on} is met in {met}."
        elif one["kind"] == "joint" and len(dates) > 1:
            every = "Both" if len(dates) == 2 else f"All {len(dates)}"
            yield f"{every} contract dates together are met in {met}."
        elif len(dates) == 1 and one["kind"] != "joint":
            yield f"The contract date of {on} for level {one['level']} is met in {met}."


def records(table: DataFrame) -> list[Mapping[Any, Any]]:
    """Rows of a table as mappings."""
    made: list[Mapping[Any, Any]] = [*table.to_dict(orient="records")]
    return made


def first_page(saved: Saved) -> list[Block]:
    """The curve with its numbers below it."""
    made: list[Block] = [curve(saved, title=_CURVE_TITLE, about=_CURVE_ABOUT), _promises(saved)]
    if len(saved.tables["contracts"]):
        made.append(chances(saved.tables["contracts"]))
    made.append(_by_day(saved.tables["finish"]))
    return made


def _promises(saved: Saved) -> Block:
    table = saved.tables["percentiles"]
    rows = []
    for one in records(table):
        late = cell(one["finish_date"], DATE, blank="after the last day")
        ends = [cell(one[name], DATE) for name in ("low_date", "high_date")]
        rows.append([Cell(f"P{100 * one['p']:.0f}"), late, *ends, cell(one["working_days"], NUMBER)])
    loose = "" if table["bounded"].all() else " Where none stands, there are too few trials for one."
    note = f"P80: four of five trials finish by this day. From, to: 95 % interval.{loose}"
    return grid("What can be promised", ("Share", "finish by", "from", "to", "working day"), rows, note=note)


def chances(table: DataFrame) -> Block:
    """The contract dates and the chance of each, and of all together."""
    rows = []
    for one in records(table):
        level = cell(one["level"], NUMBER).text
        what = {"finish": ", finish", "joint": ""}.get(one["kind"], f", level {level} closed in")
        found = [cell(one[name], CHANCE) for name in ("chance", "low_chance", "high_chance")]
        rows.append([Cell(words(one["name"]) + what), cell(one["contract_date"], DATE), *found])
    note = "Chances do not multiply: what makes one date late makes the others late too."
    columns = ("Contract date", "on", "met in", "from", "to")
    return grid("How likely the contract dates are", columns, rows, note=note if len(rows) > 2 else "")


def _by_day(finish: DataFrame) -> Block:
    """The curve as a table: how many trials finish on each day, and by it."""
    counts = finish["finish_date"].value_counts().sort_index()
    done, rows = 0, []
    for at, count in counts.items():
        done += int(count)
        numbers = [cell(value, NUMBER) for value in (int(count), done)]
        rows.append([cell(at, DATE), *numbers, cell(done / len(finish), CHANCE)])
    late = len(finish) - done
    note = f"{late} trials finish after the last day played." if late else ""
    columns = ("Day", "trials that finish", "finished by then", "share")
    return grid("The curve in numbers", columns, rows, note=note, folded=True)
