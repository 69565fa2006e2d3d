"""Decisions: what a planner is free to set, with the file's own value among what each may be."""

import datetime as dt
import json
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from towerpace.scenario.changes import apply_changes, parse_key
from towerpace.scenario.decided_values import in_range, standing_value
from towerpace.scenario.decision_rules import MOST_VALUES
from towerpace.scenario.load import Scenario
from towerpace.scenario.raw import Tree, with_tuples
from towerpace.scenario.schema import Decision
from towerpace.scenario.setups import flattened

AS_FILE = "as the file is"
_LONGEST = 40


@dataclass(frozen=True, slots=True)
class Option:
    """One of the values of a decision.

    label : what people call it. changes : dotted keys and values laid over the file; none where the file's
    own value stands. value : as written, True or False of a candidate, None where the file says nothing.
    """

    label: str
    changes: Mapping[str, object]
    value: Any = None


@dataclass(frozen=True, slots=True)
class Decided:
    """A decision with all that it may be.

    options : the file's own value among them. standing : place of that one. in_order : whether the options
    follow each other, as numbers and dates do. when : places of the options of others with which it is open.
    not_with : names of those that never depart from the file together with it.
    """

    name: str
    keys: tuple[str, ...]
    options: tuple[Option, ...]
    standing: int
    in_order: bool
    when: Mapping[str, frozenset[int]]
    not_with: frozenset[str]
    is_candidate: bool = False
    note: str = ""


def decisions_of(scenario: Scenario) -> tuple[Decided, ...]:
    """Every decision of a scenario in the order of the file, then every candidate as one of yes or no.

    Those that set the same key, or a part of one, never depart from the file together.
    """
    tree = _tree(scenario)
    decided = [_decided(tree, name, table) for name, table in scenario.settings.decision.items()]
    decided += [_of_candidate(name, table) for name, table in scenario.settings.candidate.items()]
    by_name = {one.name: one for one in decided}
    return tuple(_tied(one, scenario, by_name) for one in decided)


def _tree(scenario: Scenario) -> Tree:
    """What the file and the changes laid over it say."""
    tree: Tree = tomllib.loads(Path(scenario.path).read_text(encoding="utf-8-sig"))
    apply_changes(tree, scenario.changes)
    return tree


def _decided(tree: Tree, name: str, table: Decision) -> Decided:
    keys = (table.key_,) if table.key_ is not None else tuple(table.keys or ())
    stands = with_tuples(standing_value(tree, keys))
    values = list(table.values) if table.values is not None else _range(table)
    labels = dict(zip(map(_written, values), table.labels or (), strict=False))
    in_order = _are_ordered(values)
    if stands not in values:
        values = [stands, *values]
    if in_order and _are_ordered(values):
        values.sort()
    place = values.index(stands)
    options = [
        Option(
            labels.get(_written(value)) or _label(value), {} if k == place else _changes(keys, value), value
        )
        for k, value in enumerate(values)
    ]
    return Decided(
        name, keys, tuple(options), place, in_order, {}, frozenset(table.not_with), note=table.note
    )


def _range(table: Decision) -> list[Any]:
    assert table.step is not None, "held by the rules"
    return in_range(table.from_, table.to, table.step, most=MOST_VALUES)


def _of_candidate(name: str, table: Mapping[str, object]) -> Decided:
    changes = flattened(table)
    options = (Option("no", {}, value=False), Option("yes", changes, value=True))
    note = str(table.get("note", ""))
    return Decided(name, tuple(changes), options, 0, True, {}, frozenset(), is_candidate=True, note=note)


def _changes(keys: Sequence[str], value: Any) -> dict[str, object]:
    if len(keys) > 1 and isinstance(value, tuple):
        return dict(zip(keys, value, strict=True))
    return dict.fromkeys(keys, value)


def _tied(decided: Decided, scenario: Scenario, by_name: Mapping[str, Decided]) -> Decided:
    """The same with its conditions in places of options, and with what it excludes, told from both sides."""
    tables = scenario.settings.decision
    own = tables.get(decided.name)
    when = {}
    for name, wanted in (own.when if own is not None else {}).items():
        other = by_name[name]
        values = wanted if isinstance(wanted, tuple) else (wanted,)
        when[name] = frozenset(k for k, option in enumerate(other.options) if option.value in values)
    apart = set(decided.not_with)
    apart |= {name for name, table in tables.items() if decided.name in table.not_with}
    apart |= {
        name for name, other in by_name.items() if name != decided.name and _share_a_key(decided, other)
    }
    return Decided(
        decided.name,
        decided.keys,
        decided.options,
        decided.standing,
        decided.in_order,
        when,
        frozenset(apart),
        decided.is_candidate,
        decided.note,
    )


def _share_a_key(one: Decided, other: Decided) -> bool:
    return any(
        a[: len(b)] == b or b[: len(a)] == a
        for a in map(parse_key, one.keys)
        for b in map(parse_key, other.keys)
    )


def _are_ordered(values: Sequence[Any]) -> bool:
    """Whether they are numbers, or dates, alone."""
    numbers = all(isinstance(value, int | float) and not isinstance(value, bool) for value in values)
    return numbers or all(isinstance(value, dt.date) for value in values)


def _written(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, default=str)


def _label(value: Any) -> str:
    """A value as people read it.

    >>> [_label(value) for value in (3, 0.25, True, None, dt.date(2027, 3, 1), (2, 3))]
    ['3', '0.25', 'yes', 'as in the file', '2027-03-01', '2 and 3']
    """
    if value is None:
        return "as in the file"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:g}"
    if isinstance(value, tuple) and not any(isinstance(entry, tuple | dict) for entry in value):
        return " and ".join(map(_label, value)) or "none"
    text = value if isinstance(value, str) else str(value) if isinstance(value, dt.date) else _written(value)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."


def options_apart(decided: Sequence[Decided]) -> Iterator[tuple[Decided, int]]:
    """Every option that departs from the file, with its decision."""
    for one in decided:
        for place in range(len(one.options)):
            if place != one.standing:
                yield one, place
