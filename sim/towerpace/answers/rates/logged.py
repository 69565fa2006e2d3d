"""What the rows of a log are, trade by trade: how many, by how many gangs, from when to when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from towerpace.plan.site.tower import Tower
from towerpace.record.log import BROKEN, LEFT_OUT, MISFIT, REJECTED, SET, Log
from towerpace.record.places_steps import steps_of
from towerpace.record.step_index import index_of
from towerpace.units import DAY_MIN


@dataclass(frozen=True)
class Logged:
    """Rows of one trade. gangs : different units that did them, None where no row names any."""

    rows: int
    gangs: int | None
    first: date
    last: date


def logged(log: Log, tower: Tower) -> dict[str, Logged]:
    """The rows of every trade of which the log has any, in the order of the scenario."""
    told = {}
    for trade in tower.trades:
        entries = [entry for entry in log.entries if entry.place.what == trade]
        if entries:
            moments = [m for entry in entries for m in (entry.start, entry.finish) if m is not None]
            days = [m.minute // DAY_MIN for m in moments]
            units = {entry.unit for entry in entries if entry.unit}
            first, last = (tower.start + timedelta(day) for day in (min(days), max(days)))
            told[trade] = Logged(len(entries), len(units) or None, first, last)
    return told


def lifts_by_outcome(log: Log, tower: Tower) -> dict[str, set[int]]:
    """Lifts that the log has finished on their first visit, by how they went.

    What broke after it was set others broke: it went as any that was set.
    """
    index, trades = index_of(tower.plan), set(tower.trades)
    lifts: dict[str, set[int]] = {outcome: set() for outcome in (SET, BROKEN, REJECTED, MISFIT)}
    for entry, panels in log.first_visits():
        over = entry.finish is not None and entry.outcome != LEFT_OUT
        if over and panels and entry.place.what in trades:
            steps = steps_of(entry.place, tower, index)
            own = {steps[panel - 1] for panel in panels}
            lifts[entry.outcome or SET] |= own - lifts[SET] if entry.outcome == BROKEN else own
    return lifts
