"""Closing-in level by level, and how the work climbs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from towerpace.render.page.answer import records
from towerpace.render.page.figures import others, picture
from towerpace.render.page.model import (
    DATE,
    NUMBER,
    Block,
    Cell,
    Chapter,
    Para,
    Rows,
    cell,
    grid,
    grouped,
    words,
)
from towerpace.render.page.results import Part
from towerpace.render.page.tables import block_of, by_trade

if TYPE_CHECKING:
    from pandas import DataFrame

_CURVE, _TIME = "finish", "time"  # figures that have their place elsewhere
_STAMPS = [f"{what}_{p}_date" for what in ("begun", "done") for p in ("p10", "p50", "p90")]


def closing_in(part: Part) -> Chapter:
    """Dates of every level."""
    table = part.tables["closing_in"]
    if not len(table):
        return Chapter("levels", "Closing-in, level by level", ())
    lead = (
        "A level is closed in when its panels, its joints and whatever else the scenario names are done; "
        "then the interior trades may have it."
    )
    about = "Bars run from P50 to P80. The dates of every level stand in the table below."
    return Chapter(
        "levels",
        "Closing-in, level by level",
        [Para(lead), *picture(part, "closing_in", about=about), _levels(table)],
    )


def _levels(table: DataFrame) -> Block:
    due = bool(table["contract_date"].notna().any())
    rows = []
    for one in reversed(records(table)):
        dates = [cell(one[name], DATE) for name in ("p50_date", "p80_date", "p80_low_date", "p80_high_date")]
        rows.append([Cell(str(one["level"])), cell(one["height_m"], NUMBER), *dates])
        if due:
            rows[-1].append(cell(one["contract_date"], DATE))
    columns = ["Level", "height [m]", "P50", "P80", "P80 from", "to", *(["contract"] if due else [])]
    note = "The top level stands first, as in the tower. Blank: not before the last day, or no interval."
    return grid("Closing-in of every level", columns, rows, note=note)


def progress(part: Part) -> Chapter:
    """Flowline and panels, with the tables behind them."""
    about = {
        "flow": "Every trade climbs from level to level; bands from P10 to P90. Dates stand in the table "
        "below.",
        "panels": "Panels set week by week, with the band from P10 to P90. Numbers stand in the table below.",
    }
    blocks: list[Block] = [*picture(part, "flow", about=about["flow"]), _flow(part.tables["flow"])]
    blocks += picture(part, "panels", about=about["panels"])
    if len(part.tables["s_curve"]):
        blocks.append(block_of(part.tables["s_curve"], "Panels set, week by week", file="s_curve.csv"))
    blocks += others(part, (*about, "closing_in", _CURVE, _TIME))
    blocks.append(_time_by_level(part.tables["ledger_by_level"]))
    return Chapter("progress", "How the work climbs", blocks)


def _flow(table: DataFrame) -> Block:
    groups = []
    for trade, rows in by_trade(table):
        made = [
            [
                Cell(str(one["level"])),
                cell(one["height_m"], NUMBER),
                *(cell(one[name], DATE) for name in _STAMPS),
            ]
            for one in records(rows)
        ]
        groups.append(Rows(made, words(trade)))
    columns = ("Level", "height [m]", *(f"{w} P{p}" for w in ("begun", "done") for p in (10, 50, 90)))
    return grouped("When each trade begins and ends on each level", columns, groups, folded=True)


def _time_by_level(table: DataFrame) -> Block:
    """A row a level, its largest causes in words: a column for each of dozens of causes nobody can read."""
    groups = []
    for trade, rows in by_trade(table):
        made = []
        for level in dict.fromkeys(rows["level"].tolist()):
            own = rows[rows["level"] == level].sort_values("mean_h", ascending=False, kind="stable")
            for cause, hours in zip(own["cause"].tolist(), own["mean_h"].tolist(), strict=True):
                made.append([Cell(str(level)), Cell(cause), cell(hours, NUMBER)])
        groups.append(Rows(made, words(trade)))
    return grouped("Where the time goes, level by level", ("Level", "cause", "mean [h]"), groups, folded=True)
