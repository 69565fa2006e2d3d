"""Values for a key of the scenario file, from its schema: inside its bounds, at them, beyond, other types.

The schema is the one that is shipped for editors, so a new key is attacked as soon as it is there.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cache
from typing import Any

from support.dice import Dice
from towerpace.scenario.json_schema import json_schema

Schema = Mapping[str, Any]
NAME, ENTRY, REMARKS = "NAME", "[]", ("source", "note")
DEEPEST = 6
HUGE = (2**31 - 1, 2**31, 2**53 + 1, 2**63 - 1, 2**63, 10**9, 10**400, -1, -(2**63), 10**5, 10**5 + 1)
ODD_NUMBERS = (0.0, -0.0, 1e-308, 5e-324, 1e308, -1e308, float("inf"), float("-inf"), float("nan"), 1e9, -0.5)
ODD_DATES = (
    dt.date(1, 1, 1), dt.date(9999, 12, 31), dt.date(1970, 1, 1), dt.date(2024, 2, 29), dt.date(2127, 3, 1),
)  # fmt: skip
ODD_WORDS = (
    *(
        "",
        " ",
        "\n",
        "\t",
        "\x00",
        "\x1b[31mred",
        "[/]",
        "[bold]",
        "$1^^2$",
        '=HYPERLINK("x")',
        "-1",
        "+1",
        "@a",
    ),
    *(
        "<script>alert(1)</script>",
        "&amp;",
        "'\"`;--",
        "../../secret",
        "/dev/zero",
        "CON",
        "a.b",
        'a"b',
        "{0}",
    ),
    *(
        "%s",
        "\u202eright",
        "\u0645\u0631\u062d\u0628\u0627",
        "\U0001f3d7",
        "e\u0301",
        "x" * 300,
        "x" * 40_000,
    ),
    *("all", "handover", "closing_in", "mock_up", "water_test", "from 1", "1 to 9", "9 to 1", "nan", "."),
    *(
        "17:00-07:00",
        "00:00-24:00",
        "24:00-24:00",
        "07:00-07:01",
        "samples.csv",
        "levels.csv",
        "scenario.toml",
    ),
)


class How(Enum):
    """How hostile a value is."""

    INSIDE = "inside its bounds"
    BOUND = "at a bound"
    BEYOND = "beyond a bound"
    OTHER = "of another type"


@dataclass(frozen=True)
class Slot:
    """A key of the file: its path, with NAME for a user's name and ENTRY for an entry, and its schema."""

    path: tuple[str, ...]
    schema: Schema


@cache
def slots() -> tuple[Slot, ...]:
    """Every key of the schema, tables before what stands in them."""
    return tuple(_slots((), json_schema(), depth=0))


def _slots(path: tuple[str, ...], schema: Schema, *, depth: int) -> Iterator[Slot]:
    if path:
        yield Slot(path, schema)
    forms = _forms(schema)
    if depth > DEEPEST or any(form.get("type") == "number" for form in forms):
        return  # the forms of a number are values of its key
    for form in forms:
        for key, below in form.get("properties", {}).items():
            if key not in REMARKS or len(path) < 2:
                yield from _slots((*path, key), below, depth=depth + 1)
        if isinstance(form.get("additionalProperties"), Mapping):
            yield from _slots((*path, NAME), form["additionalProperties"], depth=depth + 1)
        if "items" in form and _is_table(form["items"]):
            yield from _slots((*path, ENTRY), form["items"], depth=depth + 1)


def _is_table(schema: Schema) -> bool:
    return any("properties" in form for form in _forms(schema))


@cache
def _definitions() -> Schema:
    return json_schema()["$defs"]


def _forms(schema: Schema) -> list[Schema]:
    """The schema itself, or each of the forms among which it leaves the choice."""
    if "$ref" in schema:
        return _forms({**_definitions()[schema["$ref"].rpartition("/")[2]]})
    several = None if "properties" in schema else schema.get("anyOf") or schema.get("oneOf")
    return [form for one in several for form in _forms(one)] if several else [schema]


class Values:
    """Makes values for slots. words : names that a scenario already uses, so that some of them fit."""

    def __init__(self, dice: Dice, words: Sequence[str]) -> None:
        self._dice, self._words = dice, [*words] or ["site"]

    def of(self, schema: Schema, how: How, *, depth: int = 0) -> object:
        """A value of a key."""
        if how is How.OTHER:
            return self._other()
        if "examples" in schema and how is How.INSIDE and self._dice.coin():
            return _with_dates(self._dice.of(schema["examples"]), schema)
        forms = _forms(schema)
        form = forms[0] if self._dice.coin() else self._dice.of(forms)
        return self._of_form(form, how, depth=depth)

    def _of_form(self, form: Schema, how: How, *, depth: int) -> object:
        match form:
            case {"const": only}:
                value: object = only
            case {"enum": words}:
                value = self._word() if how is How.BEYOND else self._dice.of(words)
            case {"type": "object"}:
                value = self._table(form, how, depth=depth)
            case {"type": "array"}:
                value = self._list(form, how, depth=depth)
            case {"type": "boolean"}:
                value = self._dice.coin()
            case {"type": "integer"}:
                value = self._whole(form, how)
            case {"type": "number"}:
                value = self._number(form, how)
            case {"format": "date"}:
                value = self._date(how)
            case _:
                value = self._text(form, how)
        return value

    def _table(self, form: Schema, how: How, *, depth: int) -> dict[str, object]:
        properties, needed = form.get("properties", {}), set(form.get("required", ()))
        chosen = [k for k in properties if k in needed or (depth < 2 and self._dice.whole(1, 4) == 1)]
        if how is How.BEYOND and chosen and self._dice.coin():
            chosen.remove(self._dice.of(chosen))
        table = {key: self.of(properties[key], how, depth=depth + 1) for key in chosen}
        more = form.get("additionalProperties")
        if isinstance(more, Mapping) and depth < DEEPEST:
            table |= {
                self._word(): self.of(more, how, depth=depth + 1) for _ in range(self._dice.whole(0, 2))
            }
        return table

    def _list(self, form: Schema, how: How, *, depth: int) -> list[object]:
        least, most = form.get("minItems", 0), form.get("maxItems", 4)
        lengths = {
            How.INSIDE: self._dice.whole(least, max(most, least)),
            How.BOUND: self._dice.of([least, most]),
            How.BEYOND: self._dice.of([0, most + 1, 50]),
        }
        return [self.of(form.get("items", {}), how, depth=depth + 1) for _ in range(lengths[how])]

    def _whole(self, form: Schema, how: How) -> int:
        low, high = form.get("minimum", 0), form.get("maximum", 100_000)
        if how is How.BOUND:
            return self._dice.of([low, low + 1, high, high - 1])
        if how is How.BEYOND:
            return self._dice.of([low - 1, high + 1, *HUGE])
        return self._dice.whole(low, min(high, low + self._dice.of([2, 10, 100])))

    def _number(self, form: Schema, how: How) -> float | int:
        low = form.get("minimum", form.get("exclusiveMinimum", -5))
        high = form.get("maximum", form.get("exclusiveMaximum", low + self._dice.of([1, 10, 100, 1000])))
        if how is How.BOUND:
            return self._dice.of([low, high, low + 1e-9, high - 1e-9])
        if how is How.BEYOND:
            return self._dice.of([low - 1e-9, high + 1e-9, *ODD_NUMBERS, *HUGE])
        return low + (high - low) * self._dice.whole(1, 999) / 1000

    def _date(self, how: How) -> dt.date:
        if how is How.INSIDE:
            return dt.date(2027, 3, 1) + dt.timedelta(days=self._dice.whole(0, 400))
        return self._dice.of(ODD_DATES)

    def _text(self, form: Schema, how: How) -> str:
        if "pattern" in form and how is not How.BEYOND:
            return self._dice.of(["07:00-12:00", "00:00-24:00", "12:30-17:00", "23:59-24:00", "06:00-06:01"])
        return self._word() if how is How.INSIDE else self._dice.of(ODD_WORDS)

    def _word(self) -> str:
        return self._dice.of(self._words if self._dice.whole(1, 5) > 1 else ODD_WORDS)

    def _other(self) -> object:
        nested: object = 1
        for _ in range(self._dice.of([1, 3, 39, 41, 90])):
            nested = [nested] if self._dice.coin() else {"a": nested}
        odd = [True, 0, -1, 1.5, "", "x", [], {}, [[]], [1, "x", {}], {"": 1}, dt.time(7), nested]
        odd += [dt.datetime(2027, 3, 1, 7), dt.date(1, 1, 1), float("nan"), 10**400, list(range(2000))]
        return self._dice.of(odd)


def _with_dates(example: object, schema: Schema) -> object:
    """An example as TOML holds it: JSON has no dates."""
    if schema.get("format") == "date" and isinstance(example, str):
        return dt.date.fromisoformat(example)
    return example
