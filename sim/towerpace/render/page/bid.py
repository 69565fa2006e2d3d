"""The bid: what a stated duration is worth, what each confidence needs, contingency by source, drivers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from towerpace.render.page.model import (
    CHANCE,
    DATE,
    NUMBER,
    TEXT,
    Block,
    Cell,
    Chapter,
    Facts,
    Para,
    between,
    cell,
    chance,
    grid,
    number,
    signed,
    unbroken,
    words,
)
from towerpace.render.page.results import BID, Results
from towerpace.render.page.tables import blocks_of_object

SHOWN = 12  # rows of a ranking on the page; all of them stand folded below
SIGNED, KEY, LOOSE = "signed", "key", "loose"  # with a sign; as it is; of many units in one column
Column = tuple[str, str, str]  # heading, key, kind
_NEEDED: tuple[Column, ...] = (
    ("Confidence", "confidence", CHANCE),
    ("finish by", "date", DATE),
    ("from", "low", DATE),
    ("to", "high", DATE),
    ("working days", "working_days", NUMBER),
    ("contingency [days]", "contingency_days", SIGNED),
)
_SOURCES: tuple[Column, ...] = (
    ("Source", "source", TEXT),
    ("off: saves", "off_days", NUMBER),
    ("from", "off_days_low", NUMBER),
    ("to", "off_days_high", NUMBER),
    ("alone: costs", "alone_days", SIGNED),
    ("from", "alone_days_low", SIGNED),
    ("to", "alone_days_high", SIGNED),
)
_DAMAGES: tuple[Column, ...] = (
    ("Contract date", "name", TEXT),
    ("expected", "expected", NUMBER),
    ("from", "expected_low", NUMBER),
    ("to", "expected_high", NUMBER),
    ("P80", "p80", NUMBER),
    ("chance of any", "chance_of_any", CHANCE),
)
_DRIVERS: tuple[Column, ...] = (
    ("Drawn input", "name", TEXT),
    ("rank correlation", "rank", SIGNED),
    ("from", "rank_low", SIGNED),
    ("to", "rank_high", SIGNED),
    ("regression", "regression", SIGNED),
    ("variance known", "known", CHANCE),
    ("sd then [days]", "sd_known_days", NUMBER),
    ("verdict", "verdict", TEXT),
)
_SWINGS: tuple[Column, ...] = (
    ("Number", "key", KEY),
    ("low", "low_value", LOOSE),
    ("days", "low_days", SIGNED),
    ("high", "high_value", LOOSE),
    ("days", "high_days", SIGNED),
    ("verdict", "verdict", TEXT),
)
_STAGES: tuple[Column, ...] = (
    ("Trials", "trials", NUMBER),
    ("finish by", "date", DATE),
    ("from", "low", DATE),
    ("to", "high", DATE),
)


def bid(results: Results) -> Chapter:
    """The chapter of the bid, empty without one."""
    found = results.found(BID)
    return Chapter("bid", "The bid", [] if found is None else [*_blocks(found[1])])


def stated(results: Results) -> str:
    """The stated duration and its chance, for the headline; "" where none was asked for."""
    found = results.found(BID)
    asked = None if found is None else found[1].get("stated")
    if not asked:
        return ""
    day = cell(asked["date"], DATE).text
    worth = f"{chance(asked['chance'])} ({between(asked['low'], asked['high'])})"
    days = number(asked["working_days"])
    return unbroken(f"The stated {days} working days, to {day}, are kept in {worth}.")


def _blocks(data: Mapping[str, Any]) -> Iterator[Block]:
    yield from _needed(data)
    yield from _table("Damages", _DAMAGES, data.get("damages"), note=_unit(data))
    yield from _contingency(data.get("contingency"))
    drivers, swings = data.get("drivers") or {}, data.get("swings") or {}
    note = (
        "Variance known: how much of the spread of the finish would go if this were known. Inputs without an "
        "effect, and constant ones, are said to be so."
    )
    yield from _table("What drives the finish", _DRIVERS, drivers.get("inputs"), note=note)
    each = number(swings.get("trials") or 0)
    note = f"Both ends on the same draws, {each} trials each; days of the mean finish."
    yield from _table("One number at a time, low and high", _SWINGS, swings.get("numbers"), note=note)
    yield from _convergence(data.get("convergence") or {})
    for screened in data.get("screening") or []:
        yield Para(f"Screening by {screened['method']}, {number(screened['runs'])} points.")
        yield from blocks_of_object({key: value for key, value in screened.items() if key != "method"})
    if data.get("methods"):
        yield Para("How the numbers of the bid were made", strong=True)
        yield Facts([(words(key), str(said)) for key, said in data["methods"].items()])


def _needed(data: Mapping[str, Any]) -> Iterator[Block]:
    planned = data.get("planned") or {}
    counted = str(planned.get("counted_from") or "")
    day = cell((planned.get(counted) or {}).get("date"), DATE).text
    if day:
        yield Para(
            f"Without uncertainty and with {words(counted)}, the tower is finished on {day}. Contingency "
            "is what a confidence needs over that date.",
            strong=True,
        )
    note = (
        "From, to: 95 % interval, blank where there are too few trials for one. Contingency: calendar days."
    )
    yield from _table("What each confidence needs", _NEEDED, data.get("needed"), note=note)


def _contingency(split: Mapping[str, Any] | None) -> Iterator[Block]:
    if not split:
        return
    rows = [*split["sources"]]
    rest = {
        "source": "what does not add up",
        "off_days": split["remainder_off_days"],
        "alone_days": split["remainder_alone_days"],
    }
    total = {"source": "contingency", **_both(split)}
    note = (
        f"Days of the P{100 * split['confidence']:.0f}, on common draws: each source off with all others "
        "on, and on alone. Sources meet, so their days do not add up; what is left over is not shared out "
        "among them."
    )
    yield from _table("Contingency by source", _SOURCES, [*rows, rest, total], note=note)


def _both(split: Mapping[str, Any]) -> dict[str, Any]:
    ends = ("", "_low", "_high")
    return {f"{way}_days{end}": split.get(f"total_days{end}") for way in ("off", "alone") for end in ends}


def _convergence(data: Mapping[str, Any]) -> Iterator[Block]:
    if not data.get("stages"):
        return
    second = data.get("second_seed")
    note = ""
    if second:
        overlap = "overlap" if second["intervals_overlap"] else "do not overlap"
        day = cell(second["date"], DATE, blank="after the last day").text
        trials = f"{number(second['trials'])} trials"
        note = f"Another seed, {second['seed']}, with {trials} gives {day}: the two intervals {overlap}."
    caption = f"P{100 * data['confidence']:.0f} against the number of trials"
    yield from _table(caption, _STAGES, data["stages"], note=note)


def _unit(data: Mapping[str, Any]) -> str:
    units = list(dict.fromkeys(one["unit"] for one in data.get("damages") or [] if one.get("unit")))
    return f"In {', '.join(units)}. From, to: 95 % interval of the mean." if units else ""


def _table(
    caption: str, columns: Sequence[Column], rows: Sequence[Mapping[str, Any]] | None, *, note: str
) -> Iterator[Block]:
    if not rows:
        return
    names = [name for name, _, _ in columns]
    made = [*zip(*(_column([row.get(key) for row in rows], kind) for _, key, kind in columns), strict=True)]
    if len(made) > SHOWN:
        yield grid(caption, names, made[:SHOWN], note=f"The first {SHOWN} of {len(made)}. {note}")
        yield grid(f"{caption}, all of them", names, made, folded=True)
    else:
        yield grid(caption, names, made, note=note)


def _column(values: Sequence[object], kind: str) -> list[Cell]:
    if kind == SIGNED:
        known = [abs(float(str(value))) for value in values if value is not None]
        return [signed(value, digits=1 if max(known, default=0.0) >= 10 else 2) for value in values]
    return [_cell(value, kind) for value in values]


def _cell(value: object, kind: str) -> Cell:
    if kind == LOOSE:
        found = cell(value, NUMBER)
        return Cell(f"{float(found.value):.3g}", NUMBER, found.value) if found.value else found
    return cell(words(str(value)) if kind == TEXT and value is not None else value, kind)
