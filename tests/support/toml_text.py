"""A tree of tables as the text of a TOML file: the standard library reads these files and writes none."""

from __future__ import annotations

import datetime as dt
import json
import math
from collections.abc import Iterator, Mapping

Tree = Mapping[str, object]


def toml_text(tree: Tree) -> str:
    """The text of a file; tables of the first two depths have headlines, so that faults have lines.

    >>> print(toml_text({"tower": {"name": "A", "start": dt.date(2027, 3, 1)}, "risk": [{"chance": 0.5}]}))
    risk = [{"chance" = 0.5}]
    ["tower"]
    "name" = "A"
    "start" = 2027-03-01
    <BLANKLINE>
    """
    return "\n".join([*_table((), tree), ""])


def _table(path: tuple[str, ...], table: Tree) -> Iterator[str]:
    below = {key: entry for key, entry in table.items() if isinstance(entry, Mapping) and len(path) < 2}
    if path and (len(below) < len(table) or not table):
        yield f"[{'.'.join(map(_quoted, path))}]"
    for key, entry in table.items():
        if key not in below:
            yield f"{_quoted(key) if path else key} = {_value(entry)}"
    for key, entry in below.items():
        yield from _table((*path, key), entry)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: object) -> str:
    match value:
        case bool():
            text = "true" if value else "false"
        case float():
            text = _number(value)
        case str():
            text = _quoted(value)
        case dt.date() | dt.time():
            text = value.isoformat()
        case Mapping():
            text = "{" + ", ".join(f"{_quoted(k)} = {_value(v)}" for k, v in value.items()) + "}"
        case list() | tuple():
            text = "[" + ", ".join(map(_value, value)) + "]"
        case _:
            text = str(value)
    return text


def _number(value: float) -> str:
    text = repr(value)
    return text if not math.isfinite(value) or "." in text or "e" in text else f"{text}.0"
