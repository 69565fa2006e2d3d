"""Causes of the ledger in a few groups that fit on a figure, and the clock that each runs on.

Two clocks must not share an axis. Work, moves, weather and waits for a gang are counted in working hours:
their minutes lie inside the shift. Waits for something that has not come yet (crates, curing, other trades)
run through nights and Sundays, so they are counted in calendar days.
"""

from __future__ import annotations

from dataclasses import dataclass

from towerpace.answers.ledger.book import STRIP
from towerpace.answers.ledger.waits import AGAIN, LATE, LINE, MOVE, SHIFT, WEATHER, WORK

WORKING, CALENDAR = "working", "calendar"


@dataclass(frozen=True)
class Group:
    """Causes shown as one; groups of a clock differ in lightness or hatch, for prints in grey.

    loss : how "120 working hours of panels ..." or "a front of panels waits 3 days ..." goes on.
    """

    name: str
    clock: str
    colour: str
    hatch: str
    loss: str


WORK_GROUP, BUSY, FRONTS, ROOM = "work", "gang or machine busy", "other trades or levels", "room on the floor"
GROUPS = (
    Group(WORK_GROUP, WORKING, "#0072B2", "", "go into work"),
    Group("crane moves", WORKING, "#56B4E9", "", "go into crane moves"),
    Group("work begun again", WORKING, "#CC79A7", "xxxx", "are work that weather undid"),
    Group("wind", WORKING, "#D55E00", "////", "are lost to wind"),
    Group("other weather", WORKING, "#E69F00", "....", "are lost to rain, cold or other weather"),
    Group("too late in the shift", WORKING, "#F0E442", "----", "are too late in the shift for the next job"),
    Group(BUSY, WORKING, "#DDDDDD", "", "pass until a gang or machine is free"),
    Group(FRONTS, CALENDAR, "#009E73", "", "for structure, other trades or other levels"),
    Group("truck", CALENDAR, "#E69F00", "....", "for a truck"),
    Group("unloading and hoist", CALENDAR, "#56B4E9", "\\\\\\\\", "for unloading and hoist"),
    Group(ROOM, CALENDAR, "#CC79A7", "////", "for room on the floor"),
    Group("curing, set lags", CALENDAR, "#DDDDDD", "", "for curing and set lags"),
)
_BY_CAUSE = {
    WORK: WORK_GROUP,
    MOVE: "crane moves",
    AGAIN: "work begun again",
    LATE: "too late in the shift",
    LINE: BUSY,
    STRIP: BUSY,
    "no floor slots": ROOM,
    "after floor slots": ROOM,
    "after truck": "truck",
    "after unloading": "unloading and hoist",
    "after hoist trip": "unloading and hoist",
    "after curing": "curing, set lags",
    **dict.fromkeys(WEATHER, "other weather"),
    "wind": "wind",
}


def group_of(cause: str) -> Group | None:
    """The group of a cause; None for the hours outside the shift, which no group shows.

    Raises `KeyError` for a cause that is new to it: better no figure than hours under a wrong name.

    >>> group_of("no bracket_gang").name
    'gang or machine busy'
    >>> group_of("after handover").clock
    'calendar'
    """
    if cause == SHIFT:
        return None
    prefix = cause.partition(" ")[0]
    name = _BY_CAUSE.get(cause) or {"no": BUSY, "after": FRONTS}[prefix]
    return next(group for group in GROUPS if group.name == name)
