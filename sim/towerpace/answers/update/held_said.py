"""How the dates that a site is held to stand now, as a table and a sentence."""

from __future__ import annotations

from collections.abc import Iterator

from towerpace.answers.estimates import BEYOND
from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.people import day, number, share
from towerpace.answers.said.tables import Column, Row, Table
from towerpace.answers.update.update import Updated
from towerpace.plan.site.tower import CLOSING_IN

HELD = Table(
    "baseline",
    "Against the baseline",
    (
        Column("what", Kind.NAME, " ", about="the finish, an activity, or the closing-in of a contract date"),
        Column("level", Kind.COUNT, about="level of the closing-in"),
        Column("baseline", Kind.DATE, about="to be done by this day"),
        Column("now", Kind.DATE, about="the same now, at the confidence of the baseline", blank=BEYOND),
        Column("moved_days", Kind.DAYS, "moved by [d]", about="now less baseline", signed=True, digits=0),
        Column("kept", Kind.SHARE, "kept now", about="share of the trials that keep the baseline's date now"),
    ),
    about="dates of the baseline beside what they are worth now",
)


def held_table(updated: Updated) -> Table:
    """The finish, what happens once, and the levels that have a contract date."""
    contracts = updated.now.scenario.settings.contract.values()
    due = {contract.level for contract in contracts if contract.level is not None}
    note = f"Baseline: {updated.held.named}; now: at P{100 * updated.held.at:g}."
    return HELD.filled(_rows(updated, due), note=note)


def _rows(updated: Updated, due: set[int]) -> Iterator[Row]:
    for (what, level), standing in updated.standings.items():
        if level is None or (what == CLOSING_IN and level in due):
            yield what, level, standing.held, standing.now, standing.moved_days, standing.kept


def held_sentence(updated: Updated) -> str:
    """How the finish stands against the baseline."""
    held, standing = updated.held, updated.standing_finish
    at = f"P{100 * held.at:g}"
    if standing is None:
        return f"Dates are held to {held.named}, which has no date of the finish."
    kept = f"{share(standing.kept)} of the trials keep it now"
    if standing.moved_days is None:
        return f"{held.named.capitalize()} is {day(standing.held)}; {kept}, and {at} is {BEYOND}."
    way = "later" if standing.moved_days > 0 else "earlier"
    by = "the same day" if not standing.moved_days else f"{number(abs(standing.moved_days))} days {way}"
    return f"To be finished by {day(standing.held)} ({held.named}): {at} is {by} now, and {kept}."
