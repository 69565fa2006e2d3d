"""Causes of the ledger in a few groups that fit on a figure, and the clock that each runs on.

Two clocks must not share an axis. Work, moves, weather and waits for a gang are counted in working hours:
their minutes lie inside the shift. Waits for something that has not come yet (crates, curing, other trades)
run through nights and Sundays, so they are counted in calendar days.
"""

from __future__ import annotations

from dataclasses import dataclass

from towerpace.answers.ledger.groups import (
    BEGUN_AGAIN,
    BUSY,
    CRANE_MOVES,
    CURING,
    FRONTS,
    OTHER_WEATHER,
    ROOM,
    TOO_LATE,
    TRUCK,
    UNLOADING,
    WIND,
    WORK_GROUP,
    group_name,
)

__all__ = ["CALENDAR", "GROUPS", "WORKING", "WORK_GROUP", "Group", "group_of"]
WORKING, CALENDAR = "working", "calendar"


@dataclass(frozen=True)
class Group:
    """Causes shown as one; no two share a colour, nor lightness and hatch, for prints in grey.

    loss : how "120 shift hours of panels ..." or "a work area of panels waits 3 days ..." goes on.
    """

    name: str
    clock: str
    colour: str
    hatch: str
    loss: str


GROUPS = (
    Group(WORK_GROUP, WORKING, "#0072B2", "", "go into work"),
    Group(CRANE_MOVES, WORKING, "#56B4E9", "", "go into crane moves"),
    Group(BEGUN_AGAIN, WORKING, "#CC79A7", "xxxx", "are work that weather undid"),
    Group(WIND, WORKING, "#D55E00", "////", "are lost to wind"),
    Group(OTHER_WEATHER, WORKING, "#E69F00", "..", "are lost to rain, cold or other weather"),
    Group(TOO_LATE, WORKING, "#F0E442", "----", "leave too little of the shift for the next job"),
    Group(BUSY, WORKING, "#DDDDDD", "", "go by waiting for gangs and machines"),
    Group(FRONTS, CALENDAR, "#33B38C", "", "for structure, other trades or other levels"),
    Group(TRUCK, CALENDAR, "#AAAA00", "o", "for a truck"),
    Group(UNLOADING, CALENDAR, "#332288", "\\\\\\\\", "for unloading and hoist"),
    Group(ROOM, CALENDAR, "#882255", "++", "for room on the floor"),
    Group(CURING, CALENDAR, "#C7B08B", "||||", "for curing and set lags"),
)


def group_of(cause: str) -> Group | None:
    """The group of a cause; None for the hours outside the shift, which no group shows.

    Raises `KeyError` for a cause that is new to it: better no figure than hours under a wrong name.

    >>> group_of("waiting for bracket_gang").name
    'gang or machine busy'
    >>> group_of("after handover").clock
    'calendar'
    """
    name = group_name(cause)
    return next((group for group in GROUPS if group.name == name), None)
