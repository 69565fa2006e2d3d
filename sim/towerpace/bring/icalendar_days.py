"""Days off from an iCalendar file (RFC 5545): whole-day events, their repetitions and exceptions.

The end of an event is exclusive there: one from 24 December to 4 January is off to 3 January. Events that are
cancelled or marked as free time (TRANSP:TRANSPARENT) are left out and listed. An event at a time of day is no
day off until the user says so.
"""

import datetime as dt
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from towerpace.bring.brought import Tally
from towerpace.bring.days_off import DayOff, DaysOff, day_text
from towerpace.bring.extras import library
from towerpace.faults import Fault, InputError

Timed = Literal["whole-days", "leave-out"]

FREQUENCIES = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
ENDS = ("UNTIL", "COUNT")
STAMP = "%Y%m%d"
CANCELLED, FREE, TIMED, OUTSIDE = "cancelled", "free time", "at a time of day", "outside the project"


@dataclass(slots=True)
class _Sorted:
    """Occurrences as they are sorted: those that are days off, and why the others are not."""

    days: list[DayOff] = field(default_factory=list)
    left_out: list[tuple[str, str]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    reason_of: dict[str, str] = field(default_factory=dict)
    taken: set[str] = field(default_factory=set)


def icalendar_days(path: Path, *, first: dt.date, last: dt.date, timed: Timed | None = None) -> DaysOff:
    """Days off of an iCalendar file between two dates.

    Parameters
    ----------
    first, last
        The project's first and last day, both included.
    timed
        Whether events at a time of day are whole days off or left out; None refuses them.

    Raises
    ------
    InputError
        If the file is no iCalendar or has no events, an event cannot be read or is at a time of day, or no
        event falls between the dates.
    """
    file = str(path)
    calendar = _calendar(path)
    events = list(calendar.walk("VEVENT"))
    if faults := list(_event_faults(events, file=file)):
        raise InputError(faults)
    occurrences = _occurrences(calendar, file=file, first=first, last=last)
    kept = _sorted(occurrences, file=file, timed=timed, first=first, last=last)
    if not kept.days and not kept.faults:
        found = f"no day off among {len(events)} events"
        between = f"events between {day_text(first)} and {day_text(last)}"
        kept.faults.append(Fault(file, None, "VEVENT", found, between))
    if kept.faults:
        raise InputError(kept.faults)
    outside = [
        (_name(e), OUTSIDE) for e in events if _uid(e) not in kept.taken and _uid(e) not in kept.reason_of
    ]
    return DaysOff(
        days=tuple(sorted(kept.days)),
        called=path.name,
        sources=(path,),
        tallies=_tallies(calendar, events=events, kept=kept, occurrences=len(occurrences)),
        left_out=tuple(f"{why}: {name}" for name, why in (*kept.left_out, *dict.fromkeys(outside))),
        warnings=tuple(_rule_warnings(events, file=file)),
    )


def _calendar(path: Path) -> Any:
    file = str(path)
    icalendar = library("icalendar", asked_by=file)
    try:
        calendar = icalendar.Calendar.from_ical(path.read_bytes())
    except (ValueError, IndexError) as error:
        raise InputError([Fault(file, None, "file", "no iCalendar", "a file as RFC 5545 has it")]) from error
    if not any(calendar.walk("VEVENT")):
        kinds = ", ".join(sorted({one.name for one in calendar.subcomponents})) or "nothing"
        found = f"no VEVENT, only {kinds}"
        raise InputError([Fault(file, None, "VEVENT", found, "events that are days off")])
    return calendar


def _occurrences(calendar: Any, *, file: str, first: dt.date, last: dt.date) -> list[Any]:
    """Events and their repetitions between two dates, in order."""
    expand = library("recurring_ical_events", asked_by=file)
    try:
        return sorted(expand.of(calendar).between(first, last + dt.timedelta(days=1)), key=_order)
    except (ValueError, TypeError, KeyError) as error:  # the library's own refusals are of these kinds
        fault = Fault(file, None, "repetition", str(error).splitlines()[0], "rules as RFC 5545 has them")
        raise InputError([fault]) from error


def _event_faults(events: list[Any], *, file: str) -> Iterator[Fault]:
    for event in events:
        for key, reason in event.errors:
            yield Fault(file, None, f"{_name(event)}, {key}", reason, "a value as RFC 5545 has it")
        if "DTSTART" not in event:
            yield Fault(file, None, f"{_name(event)}, DTSTART", "missing", "the first day of the event")
        elif not event.errors:
            yield from _time_faults(event, file=file)


def _time_faults(event: Any, *, file: str) -> Iterator[Fault]:
    name = _name(event)
    if zone := _unknown_zone(event):
        allowed = "a zone that the file defines (VTIMEZONE) or a common name, as Europe/London"
        yield Fault(file, None, f"{name}, TZID", f'"{zone}"', allowed)
    start, end = event["DTSTART"].dt, event["DTEND"].dt if "DTEND" in event else None
    if not isinstance(start, dt.date):
        yield Fault(file, None, f"{name}, DTSTART", f"{start}", "a date, or a date with a time")
    elif isinstance(end, dt.date) and end.strftime(STAMP) < start.strftime(STAMP):
        yield Fault(file, None, f"{name}, DTEND", f"{end}, before {start}", "an end after the start")
    for rule in _rules(event):
        frequency = str(rule.get("FREQ", ["missing"])[0])
        if frequency not in FREQUENCIES:
            yield Fault(file, None, f"{name}, RRULE", frequency, ", ".join(FREQUENCIES))


def _rules(event: Any) -> list[Any]:
    rules = event.get("RRULE", [])
    return rules if isinstance(rules, list) else [rules]


def _unknown_zone(event: Any) -> str | None:
    """The zone of a start that could not be placed; such a start is left without any."""
    start = event["DTSTART"]
    zone = start.params.get("TZID")
    unplaced = isinstance(start.dt, dt.datetime) and start.dt.tzinfo is None
    return str(zone) if zone and unplaced else None


def _sorted(
    occurrences: list[Any], *, file: str, timed: Timed | None, first: dt.date, last: dt.date
) -> _Sorted:
    kept = _Sorted()
    for event in occurrences:
        start, end = event["DTSTART"].dt, event["DTEND"].dt
        at_time = isinstance(start, dt.datetime)
        begin, until = _dates(start, end)
        if until < first or begin > last:
            continue
        reason = _reason(event, leave_timed=at_time and timed == "leave-out")
        name = f"{day_text(begin)}  {_name(event)}"
        if reason is not None:
            kept.left_out.append((name, reason))
            kept.reason_of.setdefault(_uid(event), reason)
        elif at_time and timed is None:
            allowed = "whole days, or --timed whole-days or leave-out"
            kept.faults.append(Fault(file, None, name, f"{start:%H:%M} to {end:%H:%M}", allowed))
        else:
            kept.days.append(DayOff(begin, until, _name(event)))
            kept.taken.add(_uid(event))
    return kept


def _dates(start: dt.date, end: dt.date) -> tuple[dt.date, dt.date]:
    """First and last day; the end is exclusive, and one at midnight belongs to the day before."""
    begin = start.date() if isinstance(start, dt.datetime) else start
    just_before = end - (
        dt.timedelta(microseconds=1) if isinstance(end, dt.datetime) else dt.timedelta(days=1)
    )
    until = just_before.date() if isinstance(just_before, dt.datetime) else just_before
    return begin, max(begin, until)


def _reason(event: Any, *, leave_timed: bool) -> str | None:
    if str(event.get("STATUS", "")).upper() == "CANCELLED":
        return CANCELLED
    if str(event.get("TRANSP", "")).upper() == "TRANSPARENT":
        return FREE
    return TIMED if leave_timed else None


def _tallies(calendar: Any, *, events: list[Any], kept: _Sorted, occurrences: int) -> tuple[Tally, ...]:
    """Events of the file by their identity, and their occurrences between the dates."""
    others = Counter(one.name for one in calendar.subcomponents if one.name not in ("VEVENT", "VTIMEZONE"))
    identities = list(dict.fromkeys(_uid(event) for event in events))
    reasons = Counter(kept.reason_of.get(uid, OUTSIDE) for uid in identities if uid not in kept.taken)
    in_source = len(identities) + sum(others.values())
    left_out = Counter(reason for _, reason in kept.left_out)
    brought = len(kept.days) + sum(left_out.values())
    return (
        Tally("entries", in_source, len(kept.taken), {**reasons, **others}),
        Tally("occurrences", occurrences, len(kept.days), {**left_out, OUTSIDE: occurrences - brought}),
    )


def _rule_warnings(events: list[Any], *, file: str) -> Iterator[str]:
    """The first day of a repeated event counts even where its rule does not name it (RFC 5545, 3.8.5.3)."""
    rrule = library("dateutil.rrule", asked_by=file)
    for event in events:
        start = event["DTSTART"].dt
        begin = start.replace(tzinfo=None) if isinstance(start, dt.datetime) else _midnight(start)
        firsts = []
        for rule in _rules(event):
            parts = [
                part for part in rule.to_ical().decode().split(";") if part.partition("=")[0] not in ENDS
            ]
            firsts.append(next(iter(rrule.rrulestr(";".join(parts), dtstart=begin)), None))
        if firsts and begin not in firsts:
            first = f"{_name(event)}: {day_text(begin)} is off as its first day"
            yield f"{first}, though its rule does not name it"


def _midnight(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time())


def _name(event: Any) -> str:
    words = "".join(c if c.isprintable() else " " for c in str(event.get("SUMMARY", "")))
    return " ".join(words.split()) or "an event without a name"


def _uid(event: Any) -> str:
    """What makes two entries the same event; a file without identities has them by name and start."""
    return str(event.get("UID") or f"{_name(event)} {event['DTSTART'].dt}")


def _order(event: Any) -> tuple[str, str]:
    return str(event["DTSTART"].dt), _name(event)
