"""Assumptions: every number of a scenario that decides an answer, with its source."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, get_args

from towerpace.scenario.calendars import Interval, interval_text
from towerpace.scenario.complaints import dotted
from towerpace.scenario.fields import SourcedTable, Table
from towerpace.scenario.quantities import Value
from towerpace.scenario.schema import OtherWeek, Settings, Week
from towerpace.scenario.spreads import Spread

Kind = Literal["published", "memory", "practice", "invented", "blank"]
KINDS: tuple[Kind, ...] = get_args(Kind)

# How a source begins where nobody has stood for the number yet.
STARTING_VALUE = "starting value, replace"
DEFAULT_SOURCE = "default of the program"
# Words of a source that tell its kind; where it has words of several, the weakest stands, here the first.
_MARKS: tuple[tuple[str, Kind], ...] = (
    (STARTING_VALUE, "invented"),
    ("invented", "invented"),
    ("no source", "practice"),
    ("common practice", "practice"),
    (DEFAULT_SOURCE, "practice"),
    ("from memory", "memory"),
)
# Whole numbers that name something, or only bound the run.
_NO_ASSUMPTION = ("horizon_days", "level", "levels_up", "replay_year")
# Of the numbers left to the program, these change answers; the others say "none of it".
_DECIDING_DEFAULTS = ("block_days", "season_days")
_NAMED_CHANGES = ("setup", "candidate", "decision")
_FILES = ("levels", "record")


@dataclass(frozen=True, slots=True)
class Assumption:
    """A number or file that decides an answer: its dotted key, itself in words, and its source or ""."""

    key: str
    text: str
    source: str

    @property
    def kind(self) -> Kind:
        """What its source is worth."""
        return kind_of(self.source)


def kind_of(source: str) -> Kind:
    """What a source is worth, by its own words: "published" unless it says less of itself.

    A default of the program is practice: somebody has chosen it, nobody has stated it for this site.

    >>> [kind_of(text) for text in ("EN 1991-1-4", "3 min, from memory", "common practice, no source", "")]
    ['published', 'memory', 'practice', 'blank']
    >>> kind_of("invented for the demo; 5 to 60 gang-days, from memory"), kind_of("starting value, replace")
    ('invented', 'invented')
    """
    said = source.strip().lower()
    return next((kind for mark, kind in _MARKS if mark in said), "published" if said else "blank")


def counts_by_kind(assumptions: Iterable[Assumption]) -> dict[Kind, int]:
    """How many assumptions there are of each kind, all five in the order of `KINDS`.

    >>> counts_by_kind([Assumption("hoist.share", "0.3", "from memory")])
    {'published': 0, 'memory': 1, 'practice': 0, 'invented': 0, 'blank': 0}
    """
    kinds = [assumption.kind for assumption in assumptions]
    return {kind: kinds.count(kind) for kind in KINDS}


def assumptions_of(settings: Settings) -> list[Assumption]:
    """All assumptions of a scenario file, in the order of the vocabulary."""
    return list(_of_table(settings, path=(), source=""))


def _of_table(table: Table, *, path: tuple[str | int, ...], source: str) -> Iterator[Assumption]:
    if isinstance(table, SourcedTable):
        source = table.source or source
    for name, field in type(table).model_fields.items():
        if name in _NAMED_CHANGES:
            continue
        value = getattr(table, name)
        given = name in table.model_fields_set
        if not given and name in _DECIDING_DEFAULTS and getattr(table, "generator", "") == "blocks":
            yield Assumption(dotted((*path, name)), f"{value:g}", DEFAULT_SOURCE)
        elif given and name not in _NO_ASSUMPTION:
            yield from _of_value(value, path=(*path, field.alias or name), source=source)


def _of_value(value: object, *, path: tuple[str | int, ...], source: str) -> Iterator[Assumption]:
    key = dotted(path)
    if isinstance(value, Week | OtherWeek):
        yield Assumption(key, _week_text(value), source)
    elif isinstance(value, Table):
        yield from _of_table(value, path=path, source=source)
    elif isinstance(value, dict):
        for name, entry in value.items():
            yield from _of_value(entry, path=(*path, name), source=source)
    elif isinstance(value, tuple):
        for number, entry in enumerate(value):
            yield from _of_value(entry, path=(*path, number), source=source)
    elif isinstance(value, Spread):
        yield Assumption(key, value.describe(), value.source or source)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        own = value.source if isinstance(value, Value) else ""
        yield Assumption(key, f"{float(value):g}", own or source)
    elif isinstance(value, str) and path[-1] in _FILES and len(path) == 2:
        yield Assumption(key, value, source)


def _week_text(week: Week | OtherWeek) -> str:
    names = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    days = zip(names, week.days(), strict=True)
    shown = [(name, day) for name, day in days if day or (day is not None and isinstance(week, OtherWeek))]
    return "; ".join(f"{name} {_day_text(day) or 'closed'}" for name, day in shown if day is not None)


def _day_text(day: tuple[Interval, ...]) -> str:
    return ", ".join(interval_text(interval) for interval in day)
