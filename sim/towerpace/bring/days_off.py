"""Days off as a calendar of the scenario has them: `closed`, `closed_spans`, each with its name."""

import datetime as dt
import json
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from towerpace.bring.brought import Brought, Tally
from towerpace.scenario.schema import Calendar

SATURDAY = 5


@dataclass(frozen=True, slots=True, order=True)
class DayOff:
    """Days without work, first and last included, and why."""

    first: dt.date
    last: dt.date
    name: str


@dataclass(frozen=True, slots=True)
class DaysOff:
    """Days off of one source.

    Parameters
    ----------
    days : tuple of DayOff
        In order.
    called : str
        The source as the scenario shall name it.
    sources : tuple of Path
        Files that were read.
    tallies, left_out, warnings
        As for `Brought`.
    """

    days: tuple[DayOff, ...]
    called: str
    sources: tuple[Path, ...] = ()
    tallies: tuple[Tally, ...] = ()
    left_out: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    made_by: str = ""


def day_text(day: dt.date) -> str:
    """A date for people, as Thu 25 Mar 2027."""
    return f"{day:%a %d %b %Y}"


def bring_days_off(found: DaysOff, *, first: dt.date, last: dt.date) -> Brought:
    """Keys of a calendar that hold the days off between two dates.

    Parameters
    ----------
    first, last
        The project's first and last day, both included.
    """
    spans = [day for day in found.days if day.last > day.first]
    singles = _by_date(day for day in found.days if day.last == day.first)
    closed = {day: name for day, name in singles.items() if not any(s.first <= day <= s.last for s in spans)}
    text = _toml(closed, spans=spans, found=found, between=f"{day_text(first)} to {day_text(last)}")
    Calendar.model_validate({"week": {}, **_as_tuples(tomllib.loads(text))})  # what is written can be read
    return Brought(
        text=text,
        sources=found.sources,
        tallies=found.tallies,
        left_out=found.left_out,
        lines=_lines(closed, spans=spans),
        warnings=found.warnings,
        made_by=found.made_by,
    )


def _by_date(days: Iterable[DayOff]) -> dict[dt.date, str]:
    """Names by date; a date that is off for two reasons has both."""
    names: dict[dt.date, str] = {}
    for day in sorted(days):
        before = names.get(day.first)
        names[day.first] = day.name if before in (None, day.name) else f"{before}; {day.name}"
    return names


def _toml(closed: Mapping[dt.date, str], *, spans: Sequence[DayOff], found: DaysOff, between: str) -> str:
    longer = [f"    {{ from = {s.first}, to = {s.last}, source = {_text(s.name)} }}," for s in spans]
    lines = [
        f"# Days off, {between}, from {found.called}.",
        "# Put these keys below [calendar.NAME] of the scenario, beside its week.",
        "closed = [",
        *(f"    {day},  # {day:%a}, {name}" for day, name in closed.items()),
        "]",
        *(["closed_spans = [", *longer, "]"] if spans else []),
        f"source = {_text(found.called)}",
    ]
    return "\n".join(lines) + "\n"


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _as_tuples(tree: Mapping[str, object]) -> dict[str, object]:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in tree.items()}


def _lines(closed: Mapping[dt.date, str], *, spans: Sequence[DayOff]) -> tuple[str, ...]:
    weekend = sum(day.weekday() >= SATURDAY for day in closed)
    days = [f"{day_text(day)}  {name}" for day, name in closed.items()]
    longer = [f"{day_text(s.first)} to {day_text(s.last)}  {s.name}" for s in spans]
    counts = (
        f"{len(closed)} single days, {weekend} of them on a Saturday or Sunday; {len(spans)} longer spans"
    )
    return (counts, *(f"  {line}" for line in (*days, *longer)))
