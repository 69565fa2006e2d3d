"""Working weeks as the user writes them: "07:00-12:00" and so on, to minutes of the day."""

import re

from towerpace.scenario.complaints import Complaint, RefusalError, shown
from towerpace.units import DAY_MIN

Interval = tuple[int, int]

INTERVALS_ALLOWED = 'a list of times as "07:00-12:00", ascending, not overlapping, within "00:00-24:00"'
INTERVAL_PATTERN = r"^\s*[0-2]\d:[0-5]\d-[0-2]\d:[0-5]\d\s*$"
_INTERVAL = re.compile(r"(\d\d):(\d\d)-(\d\d):(\d\d)")


def parse_day(raw: object) -> tuple[Interval, ...]:
    """Working intervals of one day of the week.

    Parameters
    ----------
    raw : object
        List of texts "HH:MM-HH:MM".

    Returns
    -------
    tuple of (int, int)
        From and to, in minutes since midnight, to not included. [min]

    Raises
    ------
    RefusalError
        With every complaint about the day.

    Examples
    --------
    >>> parse_day(["07:00-12:00", "12:30-17:00"])
    ((420, 720), (750, 1020))
    """
    if not isinstance(raw, list | tuple):
        raise RefusalError([Complaint((), shown(raw), INTERVALS_ALLOWED)])
    intervals: list[Interval] = []
    complaints = []
    for number, text in enumerate(raw):
        interval = parse_interval(text) if isinstance(text, str) else None
        earliest_min = intervals[-1][1] if intervals else 0
        if interval is None or interval[0] < earliest_min:
            complaints.append(Complaint((number,), shown(text), INTERVALS_ALLOWED))
        else:
            intervals.append(interval)
    if complaints:
        raise RefusalError(complaints)
    return tuple(intervals)


def parse_interval(text: str) -> Interval | None:
    """Minutes of "HH:MM-HH:MM", or None where the text is no interval of a day."""
    interval = _INTERVAL.fullmatch(text.strip())
    if interval is None:
        return None
    hour, minute, end_hour, end_minute = (int(part) for part in interval.groups())
    start_min, end_min = hour * 60 + minute, end_hour * 60 + end_minute
    if max(minute, end_minute) > 59 or not start_min < end_min <= DAY_MIN:
        return None
    return start_min, end_min


def interval_text(interval: Interval) -> str:
    """An interval as the user writes it.

    >>> interval_text((420, 750))
    '07:00-12:30'
    """
    (hour, minute), (end_hour, end_minute) = divmod(interval[0], 60), divmod(interval[1], 60)
    return f"{hour:02d}:{minute:02d}-{end_hour:02d}:{end_minute:02d}"
