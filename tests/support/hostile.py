"""Hostile scenarios, tables and folders, made from a number: the same number makes the same for ever."""

from __future__ import annotations

import copy
import json
import shutil
import tomllib
from collections.abc import Iterator, Mapping, MutableMapping
from pathlib import Path
from typing import Any

from support.dice import Dice
from support.hostile_values import ENTRY, HUGE, NAME, ODD_NUMBERS, ODD_WORDS, How, Slot, Values, slots

Tree = dict[str, Any]
# Most values fit by themselves, so that many scenarios get through to what reads them next.
HOWS = (How.INSIDE, How.INSIDE, How.INSIDE, How.BOUND, How.BOUND, How.BEYOND, How.OTHER)
_WAYS = ("set", "set", "set", "set", "drop", "unknown", "set-up")


def hostile_tree(base: Mapping[str, Any], dice: Dice) -> tuple[Tree, list[str]]:
    """A scenario with one to three keys attacked, and in words what was done to it."""
    tree = copy.deepcopy(dict(base))
    values, done = Values(dice, _words_of(base)), []
    for _ in range(dice.of([1, 1, 1, 2, 3])):
        slot, how, way = dice.of(slots()), dice.of(HOWS), dice.of(_WAYS)
        path = _placed(slot, tree, dice)
        done.append(f"{way} {'.'.join(map(str, path))} {how.value}")
        match way:
            case "drop":
                done[-1] = f"drop {_drop(tree, dice)}"
            case "unknown":
                path = (*path[:-1], dice.of(ODD_WORDS))
                _put(tree, path, values.of(slot.schema, how))
            case "set-up":
                dotted = ".".join(map(str, path)).replace(".[", "[")
                tree.setdefault("setup", {})["odd"] = {dotted: values.of(slot.schema, how)}
            case _:
                _put(tree, path, values.of(slot.schema, how))
    return tree, done


def _words_of(base: Mapping[str, Any]) -> list[str]:
    """Names of the tables that the user names."""
    named = [entry for entry in base.values() if isinstance(entry, Mapping)]
    return sorted({key for entry in named for key, below in entry.items() if isinstance(below, Mapping)})


def _placed(slot: Slot, tree: Tree, dice: Dice) -> tuple[str | int, ...]:
    """The path of a key with names that are there, now and then one that is not."""
    path: list[str | int] = []
    here: Any = tree
    for part in slot.path:
        if part == NAME:
            there = [*here] if isinstance(here, Mapping) else []
            key: str | int = dice.of(there) if there and dice.whole(1, 8) > 1 else dice.of(ODD_WORDS)
        elif part == ENTRY:
            key = dice.whole(0, len(here)) if isinstance(here, list) else 0
        else:
            key = part
        path.append(key)
        here = _below(here, key)
    return tuple(path)


def _below(here: Any, key: str | int) -> Any:
    if isinstance(here, Mapping):
        return here.get(str(key))
    if isinstance(here, list) and isinstance(key, int) and key < len(here):
        return here[key]
    return None


def _put(tree: Tree, path: tuple[str | int, ...], value: object) -> None:
    """Write a value, with the tables above it where they are missing; a value in their place gives way."""
    here: Any = tree
    for key, following in zip(path, [*path[1:], None], strict=True):
        if following is None:
            _set(here, key, value)
            return
        below = _below(here, key)
        if not isinstance(below, list if isinstance(following, int) else MutableMapping):
            below = _set(here, key, [] if isinstance(following, int) else {})
        here = below


def _set(here: Any, key: str | int, value: Any) -> Any:
    if isinstance(key, int):
        here[key : key + 1] = [value]
    else:
        here[key] = value
    return value


def _drop(tree: Tree, dice: Dice) -> str:
    """Take away a key, anywhere; which one."""
    tables = [tree, *_tables(tree)]
    table = dice.of([t for t in tables if t])
    key = dice.of([*table])
    del table[key]
    return key


def _tables(node: Any) -> Iterator[Tree]:
    for entry in node.values() if isinstance(node, Mapping) else node if isinstance(node, list) else ():
        if isinstance(entry, dict):
            yield entry
        yield from _tables(entry)


CELLS = (*ODD_WORDS, *map(str, HUGE), *map(str, ODD_NUMBERS), "1,5", "1 000", "12%", "-0", "0x10", "1_000")
MOMENTS = (
    "2027-02-30",
    "2027-03-05T25:00",
    "2027-03-05T09:00Z",
    "0001-01-01",
    "9999-12-31T23:59",
    "05.03.27",
)


def damaged_table(text: str, dice: Dice) -> bytes:
    """A CSV file with one to three things wrong with it."""
    rows = [line.split(",") for line in text.splitlines()]
    for _ in range(dice.whole(1, 3)):
        row = dice.of(rows)
        match dice.of(["cell", "cell", "cell", "moment", "swap", "twice", "cut", "wide", "header", "none"]):
            case "cell":
                row[dice.whole(0, len(row) - 1)] = dice.of(CELLS)
            case "moment":
                row[dice.whole(0, len(row) - 1)] = dice.of(MOMENTS)
            case "swap":
                dice.shuffle(rows)
            case "twice":
                rows.append([*row])
            case "cut":
                row[:] = row[: dice.whole(1, len(row))]
            case "wide":
                row += ["x"] * dice.of([1, 5000])
            case "header":
                rows[0][dice.whole(0, len(rows[0]) - 1)] = dice.of([*rows[0], *ODD_WORDS])
            case "none":
                del rows[dice.whole(0, len(rows) - 1) :]
                rows = rows or [[""]]
    return damaged_bytes("\n".join(",".join(row) for row in rows) + "\n", dice)


def damaged_bytes(text: str, dice: Dice) -> bytes:
    """The text as a file, one time in four as other programs write it, or cut or spoilt."""
    whole = text.encode("utf-8", errors="surrogatepass")
    at = dice.whole(0, len(whole))
    ways = [whole] * 18 + [
        b"\xef\xbb\xbf" + whole,
        whole.replace(b"\n", b"\r\n"),
        text.encode("utf-16", errors="surrogatepass"),
        whole[:at],
        whole[:at] + b"\x00\xff\xfe" + whole[at:],
        b"",
    ]
    return dice.of(ways)


def damaged_json(text: str, dice: Dice) -> bytes:
    """A JSON file with some of its values replaced, dropped or nested."""
    tree = json.loads(text)
    for _ in range(dice.whole(1, 3)):
        tables = [t for t in [tree, *_tables(tree)] if t]
        if not tables:
            break
        table = dice.of(tables)
        key = dice.of([*table])
        if dice.whole(1, 4) == 1:
            del table[key]
        else:
            table[key] = dice.of(
                [None, True, -1, 10**18, 1.5, "", "x", [], {}, [[]], [None], {"a": 1}, *ODD_WORDS]
            )
    return damaged_bytes(json.dumps(tree), dice)


def spoil_one(whole: Path, hit: Path, dice: Dice) -> None:
    """Copy a folder and spoil one of its files, or take it away."""
    shutil.rmtree(hit, ignore_errors=True)
    shutil.copytree(whole, hit)
    file = dice.of(sorted(file for file in hit.rglob("*") if file.is_file()))
    if dice.whole(1, 8) == 1:
        file.unlink()
    elif file.suffix == ".json":
        file.write_bytes(damaged_json(file.read_text(encoding="utf-8"), dice))
    elif file.suffix == ".csv":
        file.write_bytes(damaged_table(file.read_text(encoding="utf-8"), dice))
    else:
        content = file.read_bytes()
        file.write_bytes(content[: dice.whole(0, len(content))])


def bare_tree(scenario: Path) -> dict[str, object]:
    """A scenario without its own set-ups, which its levels here do not all have."""
    tree = tomllib.loads(scenario.read_text(encoding="utf-8"))
    return {key: table for key, table in tree.items() if key not in ("setup", "candidate")}
