"""Working days of the structure: those of the calendar on which levels are handed over."""

import datetime as dt

from towerpace.scenario.dates import day_at
from towerpace.scenario.raw import Tree, at, table, tables_in, text_at

_WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_FAR_DAYS = 3660


def next_working_day(tree: Tree, day: dt.date) -> dt.date:
    """The day, or the next one on which the structure works; the day itself if its calendar knows none.

    tree : the scenario file; what is of a wrong type in it is passed over.
    """
    calendar = table(tree, "calendar", text_at(tree, "structure", "calendar") or "")
    if not calendar:
        return day
    for later in range(_FAR_DAYS):
        try:
            candidate = day + dt.timedelta(later)
        except OverflowError:
            break
        if _works(calendar, candidate):
            return candidate
    return day


def _works(calendar: Tree, day: dt.date) -> bool:
    closed = at(calendar, ("closed",))
    if isinstance(closed, list) and day in closed:
        return False
    if any(_within(span, day) for _, span in tables_in(calendar, "closed_spans")):
        return False
    word = _WEEK[day.weekday()]
    hours = at(calendar, ("week", word))
    for _, dated in tables_in(calendar, "dated"):
        if _within(dated, day) and at(dated, ("week", word)) is not None:
            hours = at(dated, ("week", word))
    return bool(hours)


def _within(span: Tree, day: dt.date) -> bool:
    first, last = day_at(span, "from"), day_at(span, "to")
    return first is not None and last is not None and first <= day <= last
