"""What of a scenario may be changed on the page: found in the vocabulary, said in its words.

Nothing here names a key that could hold the name of a file, and nothing else is taken from the page.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any, get_origin

from towerpace.answers.said.people import words
from towerpace.scenario.complaints import Path, dotted
from towerpace.scenario.fields import Table
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import LevelKeys, Settings, UnitDates
from towerpace.scenario.vocabulary import Key, vocabulary
from towerpace.scenario.words import field_slot
from towerpace.workbench.fields import COUNT, DATE, DATES, FLAG, HOURS, NUMBER, SHIFT, SPREAD, Form, form_of

COUNTS, LIMITS, CALENDARS, SPREADS, LEVELS, STOCK, UNITS = (
    "counts",
    "limits",
    "calendars",
    "spreads",
    "levels",
    "stock",
    "units",
)
# Money moves no date, a plate is its maker's, and where a thing stands in the order of work is no number.
_NEVER = (
    "maker_limit_m_s",
    "cost_per_day",
    "cost_mobilise",
    "premium_per_hour",
    "mass_kg",
    "area_m2",
    "level",
    "levels_up",
    "height_m",
)
# Tables under names of the user's own; below a level its zones bear names too.
_NAMED = {"zone"} | {
    name for name, field in Settings.model_fields.items() if get_origin(field_slot(field).type) is dict
}
_DAYS = {
    "mon": "Monday",
    "tue": "Tuesday",
    "wed": "Wednesday",
    "thu": "Thursday",
    "fri": "Friday",
    "sat": "Saturday",
    "sun": "Sunday",
}
_TIMES = (COUNT, NUMBER, SPREAD), SPREADS
# By table: kinds of its keys that are offered, and the group that they stand in.
_GROUPS: dict[str, tuple[tuple[str, ...], str]] = {
    "limit": ((NUMBER, COUNT), LIMITS),
    "calendar": ((HOURS, DATES, DATE), CALENDARS),
    "level": ((SHIFT, NUMBER, COUNT), LEVELS),
    **dict.fromkeys(
        (
            *("structure", "crane", "hoist", "delivery", "family", "resource", "trade", "activity", "method"),
            *("mock_up", "water_test", "risk", "leave_outs"),
        ),
        _TIMES,
    ),
}
_UNIT_ENDS = ("_m_s3", "_m_s2", "_mm_h", "_m_s", "_degC", "_days", "_min", "_km", "_kg", "_m2", "_h", "_m")


@dataclass(frozen=True)
class Offer:
    """A number, date or list of hours that may be changed.

    path : of its key. value : what the file says, as JSON. maker : limit above which it is refused.
    listed : whether the page lists it; single zones are too many.
    """

    path: Path
    group: str
    label: str
    unit: str
    form: Form
    value: Any
    note: str
    maker: float | None = None
    listed: bool = True

    @property
    def key(self) -> str:
        """Dotted, as in a set-up."""
        return dotted(self.path)

    def as_json(self) -> dict[str, Any]:
        """As the page reads it."""
        return {
            "group": self.group,
            "key": self.key,
            "label": self.label,
            "unit": self.unit,
            "kind": self.form.kind,
            "value": self.value,
            "min": self.form.low,
            "max": self.form.high,
            "step": _step(self),
            "allowed": self.form.allowed,
            "maker": self.maker,
            "note": f"{self.note.partition('. ')[0].rstrip('.')}.",
        }


def _step(offer: Offer) -> float | None:
    if offer.form.kind == COUNT:
        return 1.0
    return 0.1 if offer.group == LIMITS else None


def offers_of(scenario: Scenario) -> dict[str, Offer]:
    """Everything that may be changed, by its dotted key, in the order of the file."""
    tree = tomllib.loads(FilePath(scenario.path).read_text(encoding="utf-8-sig"))
    said = {key.name: key for key in vocabulary()}
    found = [*_of_table(scenario.settings, (), tree=tree, said=said), *_new_units(scenario, said=said)]
    found += _of_levels(scenario, said=said)
    return {offer.key: offer for offer in found}


def _of_table(
    table: Table, path: Path, *, tree: Mapping[str, Any], said: Mapping[str, Key]
) -> Iterator[Offer]:
    """Offers of a table and of those in it."""
    for name, field in type(table).model_fields.items():
        value, own = getattr(table, name), (*path, field.alias or name)
        form = form_of(field)
        if form is not None:
            yield from _of_key(own, form, value, table=table, tree=tree, said=said)
        else:
            for part, inner in _inner(value):
                yield from _of_table(inner, (*own, *part), tree=tree, said=said)


def _inner(value: object) -> Iterator[tuple[Path, Table]]:
    """Tables within a value, with what leads to each."""
    if isinstance(value, Table):
        yield (), value
    elif isinstance(value, Mapping):
        yield from (((name,), entry) for name, entry in value.items() if isinstance(entry, Table))
    elif isinstance(value, tuple):
        yield from (((k,), entry) for k, entry in enumerate(value) if isinstance(entry, Table))


def _of_key(
    path: Path, form: Form, value: Any, *, table: Table, tree: Mapping[str, Any], said: Mapping[str, Key]
) -> Iterator[Offer]:
    stated, raw = _raw(tree, path)
    group = _group(path, form, stated=stated, value=value)
    shown = _plain(raw if stated else value)
    if group is None or (isinstance(shown, dict) and "samples" in shown):
        return
    word = said[_generic(path)]
    maker = getattr(table, "maker_limit_m_s", None) if path[-1] == "wind_above_m_s" else None
    yield Offer(path, group, _label(path), word.unit, form, shown, word.meaning, maker and float(maker))


def _group(path: Path, form: Form, *, stated: bool, value: object) -> str | None:
    """The group under which a key is offered, or None."""
    top, last, kind = path[0], path[-1], form.kind
    if last in _NEVER:
        return None
    if top == "resource" and "breakdown" not in path:
        return COUNTS if last == "count" else UNITS if kind in (DATE, COUNT) else None
    if last == "spares" or top in ("storage", "yard", "factory"):
        return STOCK if value is not None and kind != FLAG else None
    kinds, group = _GROUPS.get(str(top), ((), ""))
    is_there = value is not None if group in (LIMITS, CALENDARS) else stated
    return group if is_there and kind in kinds else None


def _raw(tree: Mapping[str, Any], path: Path) -> tuple[bool, Any]:
    """Whether the file states a key, and what it says."""
    node: Any = tree
    for part in path:
        is_item = isinstance(node, list) and isinstance(part, int) and part < len(node)
        there = part in node if isinstance(node, dict) else is_item
        if not there:
            return False, None
        node = node[part]
    return True, node


def _plain(value: Any) -> Any:
    """A value of the file as JSON, without its source."""
    if isinstance(value, Mapping):
        kept = {key: _plain(entry) for key, entry in value.items() if key not in ("source", "note")}
        return kept["value"] if list(kept) == ["value"] else kept
    if isinstance(value, list | tuple):
        return [_plain(entry) for entry in value]
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float):
        return float(value)
    if hasattr(value, "isoformat"):
        return value.isoformat()
    return float(value.params[0])  # a spread that no file states is a certain number


def _generic(path: Path) -> str:
    """The name of a key in the vocabulary."""
    parts: list[str] = []
    before: str | int = ""
    for part in path:
        if isinstance(part, int):
            parts[-1] += "[]"
        else:
            parts.append("NAME" if before in _NAMED else part)
        before = "" if parts[-1] == "NAME" else part
    return ".".join(parts)


def _label(path: Path) -> str:
    """A key as people read it.

    >>> _label(("resource", "floor_crane", "breakdown", "every_h"))
    'floor crane, breakdown: every'
    """
    silent = ("resource", "limit", "calendar", "family", "week", "level")
    parts = [part for part in path if part not in silent]
    *outer, last = [_word(part) for part in parts]
    if path[-1] == "count" and path[0] == "resource":
        return outer[0]
    return f"{', '.join(outer)}: {last}" if outer else last


def _word(part: str | int) -> str:
    if isinstance(part, int):
        return str(part + 1)
    end = next((end for end in _UNIT_ENDS if part.endswith(end)), "")
    return _DAYS.get(part) or words(part.removesuffix(end))


def _new_units(scenario: Scenario, *, said: Mapping[str, Key]) -> Iterator[Offer]:
    """Days of one more single unit of each resource, which the file does not know yet."""
    for name, resource in scenario.settings.resource.items():
        for key in ("arrives", "leaves"):
            path: Path = ("resource", name, "unit", len(resource.unit), key)
            form = form_of(UnitDates.model_fields[key])
            assert form is not None, "a date"
            what = f"one {words(name)}: {key}"
            yield Offer(path, UNITS, what, "", form, None, said[_generic(path)].meaning)


def _of_levels(scenario: Scenario, *, said: Mapping[str, Key]) -> Iterator[Offer]:
    """Dates and difficulty of every level, and of its zones, as the level table says them."""
    levels = scenario.levels
    for floor, level in enumerate(levels.levels):
        above: Path = ("level", str(level))
        days = [day for day in levels.delivery[floor] if day is not None]
        hard = {float(factor) for factor in levels.difficulty[floor]}
        yield _level((*above, "handover"), levels.handover[floor].isoformat(), said=said)
        if days:
            yield _level((*above, "delivery"), min(days).isoformat(), said=said)
        yield _level((*above, "difficulty"), hard.pop() if len(hard) == 1 else None, said=said)
        for across, zone in enumerate(levels.zones):
            due, own = levels.delivery[floor][across], (*above, "zone", zone)
            if due is not None:
                yield _level((*own, "delivery"), due.isoformat(), said=said, listed=False)
            factor = float(levels.difficulty[floor, across])
            yield _level((*own, "difficulty"), factor, said=said, listed=False)


def _level(path: Path, value: Any, *, said: Mapping[str, Key], listed: bool = True) -> Offer:
    word = said[_generic(path)]
    form = form_of(LevelKeys.model_fields[str(path[-1])])
    assert form is not None, "a date or a number"
    where = f"level {path[1]}" + (f", {path[3]}" if len(path) > 3 else "")
    return Offer(
        path, LEVELS, f"{where}: {words(str(path[-1]))}", word.unit, form, value, word.meaning, listed=listed
    )
