"""Causes of the ledger in the few groups that people read, and by the thing that each is about."""

from __future__ import annotations

from towerpace.answers.ledger.book import BY_CLOCK, NO_ROOM, STRIP, TURNED_AWAY, YARD_FULL
from towerpace.answers.ledger.waits import AGAIN, LATE, LINE, MOVE, SHIFT, WEATHER, WORK

WORK_GROUP, BUSY, FRONTS, ROOM = "work", "gang or machine busy", "other trades or levels", "room on the floor"
CRANE_MOVES, BEGUN_AGAIN, WIND, OTHER_WEATHER = "crane moves", "work begun again", "wind", "other weather"
TOO_LATE, TRUCK, UNLOADING, CURING = (
    "too little shift left",
    "truck",
    "unloading and hoist",
    "curing, set lags",
)
_BY_CAUSE = {
    WORK: WORK_GROUP,
    MOVE: CRANE_MOVES,
    AGAIN: BEGUN_AGAIN,
    LATE: TOO_LATE,
    LINE: BUSY,
    STRIP: BUSY,
    NO_ROOM: ROOM,
    YARD_FULL: ROOM,
    TURNED_AWAY: BUSY,
    "after floor slots": ROOM,
    "after ground": ROOM,
    "after truck": TRUCK,
    "after unloading": UNLOADING,
    "after hoist trip": UNLOADING,
    "after curing": CURING,
    BY_CLOCK: CURING,
    **dict.fromkeys(WEATHER, OTHER_WEATHER),
    "wind": WIND,
}
# Waits for what is neither a trade nor a level, which deserve a name of their own beside those.
_BY_ITSELF = {
    BY_CLOCK: "by the clock",
    "after handover": "structure",
    "after breakdown": "breakdowns",
    "after time to failure": "breakdowns",
    "after mast extension": "mast extension",
    "after remake": "remade panels",
    "after holes closed": "holes",
    "after leave-outs": "holes",
    "after mock_up": "mock-up",
    "after water_test": "water test",
    "after return visits": "return visits",
}


def group_name(cause: str) -> str | None:
    """The group of a cause; None for the hours outside the shift, which no group shows.

    Raises `KeyError` for a cause that is new to it: better nothing than hours under a wrong name.

    >>> group_name("waiting for bracket_gang"), group_name("after panels")
    ('gang or machine busy', 'other trades or levels')
    """
    if cause == SHIFT:
        return None
    return _BY_CAUSE.get(cause) or {"waiting": BUSY, "after": FRONTS}[cause.partition(" ")[0]]


def topic(cause: str) -> str | None:
    """What a cause is about: its group, but each gang, machine and kind of hole by itself.

    None for the hours outside the shift. Raises `KeyError` for a cause that is new to it.

    >>> [topic(cause) for cause in ("waiting for hoist", "wind", "rain", "after panels", "after leave-outs")]
    ['waiting for hoist', 'wind', 'other weather', 'other trades or levels', 'holes']
    """
    name = group_name(cause)
    return cause if name == BUSY else _BY_ITSELF.get(cause, name) if name else None
