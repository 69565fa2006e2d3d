"""What to add and what was compared: sections of an advice and of a comparison, where results have them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from towerpace.render.page.figures import others
from towerpace.render.page.model import (
    CHANCE,
    DATE,
    NUMBER,
    Block,
    Cell,
    Chapter,
    Items,
    Para,
    cell,
    chance,
    grid,
    number,
    signed,
    unbroken,
    words,
)
from towerpace.render.page.results import ADD, COMPARE, Part, Results
from towerpace.render.page.tables import blocks_of

_PAIRED = "Differences are paired: the same weather, breakages and paces for every set-up. Minus is earlier."


def which_to_add(results: Results) -> Chapter:
    """Ranking and path of an advice, then set-ups side by side."""
    blocks: list[Block] = []
    advice, compared = results.found(ADD), results.found(COMPARE)
    if advice is not None:
        blocks += _advice(advice[1])
    if compared is not None:
        blocks += _comparison(*compared)
    return Chapter("which", "Which to add", blocks)


def headline_of(data: Mapping[str, Any]) -> str:
    """The answer of a comparison that stands alone: the base, and the set-up that gains most."""
    base, *rest = data["setups"]
    p80 = cell(base["p80"], DATE, blank="after the last day played").text
    said = f"With the base, four of five trials finish {'by ' if base['p80'] else ''}{p80}."
    gains = [one for one in rest if one.get("diff_days") is not None]
    if not gains:
        return said
    best = min(gains, key=lambda one: float(one["diff_days"]))
    days = _days(best["diff_days"])
    interval = f"{_days(best['diff_low'])} to {_days(best['diff_high'])}"
    name = words(best["name"])
    return unbroken(
        f"{said} The set-up that gains most, {name}, moves the finish by {days} days ({interval})."
    )


def _days(value: float) -> str:
    return signed(value).text


def _advice(data: Mapping[str, Any]) -> Iterator[Block]:
    ranking: Sequence[Mapping[str, Any]] = data["ranking"]
    if ranking:
        first = ranking[0]
        said = f"First named: {words(first['resource'])} {first['change']} ({first['verdict']})"
        gain = "" if first["days"] is None else f", {_days(first['days'])} days of the finish in the mean"
        yield Para(f"{said}{gain}. {_PAIRED}", strong=True)
    rows = [
        [
            Cell(words(one["resource"])),
            Cell(str(one["change"])),
            *(signed(one[key]) for key in ("days", "low", "high", "p80_days")),
            signed(one["money"], digits=0),
            cell(one["trials"], NUMBER),
            Cell(one["verdict"]),
        ]
        for one in ranking
    ]
    money = f"cost [{data['unit']}]" if data.get("unit") else "cost"
    columns = ("Resource", "change", "days", "interval from", "to", "P80 days", money, "trials", "verdict")
    note = (
        f"{data['procedure']}; {number(data['matters_days'])} days matter, "
        f"{chance(data['confidence'])} confidence in the first named of each round."
    )
    yield grid("One change at a time", columns, rows, note=note)
    path = [
        f"{words(one['resource'])} {one['change']}: {_days(one['days'])} days, then P80 "
        f"{cell(one['p80'], DATE, blank='after the last day').text}"
        for one in data["path"]
        if one["days"] is not None
    ]
    if path:
        yield Items([*path, str(data["stopped"])])


def _comparison(part: Part, data: Mapping[str, Any]) -> Iterator[Block]:
    setups: Sequence[Mapping[str, Any]] = data["setups"]
    yield Para(f"{len(setups)} set-ups were played on the same {data['trials']:,} draws. {_PAIRED}")
    rows = []
    for one in setups:
        dates = [cell(one[key], DATE, blank="after the last day") for key in ("p50", "p80")]
        gains = [signed(one.get(key)) for key in ("diff_days", "diff_low", "diff_high")]
        p80 = signed(one.get("diff_p80_days"))
        name = Cell(words(one["name"]))
        rows.append(
            [name, *dates, *gains, p80, cell(one.get("beats_base"), CHANCE), cell(one["cost"], NUMBER)]
        )
    money = f"mean cost [{data['unit']}]" if data.get("unit") else "mean cost"
    columns = ("Set-up", "P50", "P80", "days", "interval from", "to", "P80 days", "beats base", money)
    yield grid("Set-ups against the base", columns, rows)
    changes = [
        f"{words(one['name'])}: {', '.join(f'{k} = {v}' for k, v in one['changes'].items())}"
        for one in setups
        if one["changes"]
    ]
    if changes:
        yield Items(changes)
    if part.kind == COMPARE:
        yield from others(part, ())
        yield from blocks_of(part)
