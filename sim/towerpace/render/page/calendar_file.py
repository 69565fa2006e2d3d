"""The days of saved answers as a calendar that any calendar program reads (iCalendar, RFC 5545).

Every event is a whole day (VALUE=DATE), the same day in every zone, and leaves the day free (TRANSP). Its UID
follows from scenario, seed and name, so that a later run of the same scenario and seed takes the place of an
earlier one; its DTSTAMP is when the answer was made, so that the same results give the same bytes.

References
----------
RFC 5545, sections 3.1 (lines and folding), 3.3.11 (text), 3.6.1 (events), 3.8.4.7 (UID), 3.8.7.2 (DTSTAMP);
RFC 7986, section 5 (name and description of a calendar); RFC 9562, section 5.5 (names as UUID, version 5).
"""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import UTC, date, timedelta
from pathlib import Path
from uuid import NAMESPACE_URL, uuid5

from towerpace.faults import Fault, InputError
from towerpace.render.page.events import Event, events_of
from towerpace.render.page.page import check_targets, write_whole
from towerpace.render.saved.answer_file import Saved

FOLD_AT = 75  # octets of a line, its end not counted
_ESCAPED = str.maketrans({"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n"})
_CONTROLS = re.compile(
    r"[\x00-\x08\x0b-\x1f\x7f]"
)  # which no text may hold; a line's end is written otherwise
_STAMP = "%Y%m%dT%H%M%SZ"


def can_date(parts: Sequence[Saved]) -> list[Fault]:
    """What stands in the way of a calendar: it must hold one event at least."""
    if any(event.day for event in events_of(parts)):
        return []
    found = f"no dates in the results of {', '.join(dict.fromkeys(part.answer.question for part in parts))}"
    allowed = "results of forecast, compare, bid or check that end within what was played"
    return [Fault("--ics", None, "ics", found, allowed)]


def write_calendar(parts: Sequence[Saved], path: str | os.PathLike[str]) -> Path:
    """Write the calendar.

    Raises `InputError` for answers without a date, or if a folder stands where the file should.
    """
    if faults := [*check_targets([path]), *can_date(parts)]:
        raise InputError(faults)
    return write_whole(calendar_of(parts), path)


def calendar_of(parts: Sequence[Saved]) -> bytes:
    """The calendar; the same bytes for the same answers."""
    return b"".join(folded(line) for line in _lines(parts))


def _lines(parts: Sequence[Saved]) -> Iterator[str]:
    run = parts[0].answer.run
    events = events_of(parts)
    about = _about(parts, events)
    yield "BEGIN:VCALENDAR"
    yield "VERSION:2.0"
    yield f"PRODID:-//towerpace//towerpace {text_of(run.version)}//EN"
    yield "CALSCALE:GREGORIAN"
    for name in ("NAME", "X-WR-CALNAME"):  # the older name is the one that most programs look for
        yield f"{name}:{text_of(run.scenario)}"
    yield f"DESCRIPTION:{text_of(about)}"
    used: Counter[str] = Counter()
    for event in events:
        if event.day is not None:
            yield from _event_lines(event, event.day, nth=used[event.name])
            used[event.name] += 1
    yield "END:VCALENDAR"


def _about(parts: Sequence[Saved], events: Sequence[Event]) -> str:
    """What must be known of all its days: banners, cautions, and what is in no calendar."""
    late = [event.name for event in events if event.day is None]
    beyond = [f"Beyond what was played, so in no calendar: {'; '.join(late)}."] if late else []
    banners = [banner for part in parts for banner in part.answer.banners]
    cautions = [caution for part in parts for caution in part.answer.cautions]
    return "\n".join(dict.fromkeys((*banners, parts[0].answer.said, *beyond, *cautions)))


def _event_lines(event: Event, day: date, *, nth: int) -> Iterator[str]:
    run = event.of.answer.run
    yield "BEGIN:VEVENT"
    yield f"UID:{uuid5(NAMESPACE_URL, f'towerpace:{run.hash}:{run.seed}:{event.name}:{nth}')}"
    yield f"DTSTAMP:{event.made.astimezone(UTC):{_STAMP}}"
    yield f"DTSTART;VALUE=DATE:{_date(day)}"
    yield f"DTEND;VALUE=DATE:{_date(day + timedelta(days=1))}"  # exclusive
    yield f"SUMMARY:{text_of(f'{run.scenario}: {event.name}')}"
    yield f"DESCRIPTION:{text_of(chr(10).join(event.said))}"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _date(day: date) -> str:
    return day.isoformat().replace("-", "")


def text_of(words: str) -> str:
    r"""Words as a value of type TEXT.

    >>> print(text_of("Wharf; a, b\\c\r\nsecond line"))
    Wharf\; a\, b\\c\nsecond line
    """
    return _CONTROLS.sub("", re.sub(r"\r\n?", "\n", words)).translate(_ESCAPED)


def folded(line: str) -> bytes:
    """A line in pieces of 75 octets at most, each but the first behind a blank; no letter is torn apart.

    >>> folded("SUMMARY:" + "é" * 40).splitlines()[1] == " ".encode() + "é".encode() * 7
    True
    """
    pieces, rest = [], line.encode()
    room = FOLD_AT
    while len(rest) > room:
        cut = room
        while rest[cut] & 0xC0 == 0x80:  # inside a letter of several octets
            cut -= 1
        pieces.append(rest[:cut])
        rest, room = rest[cut:], FOLD_AT - 1
    return b"\r\n ".join((*pieces, rest)) + b"\r\n"
