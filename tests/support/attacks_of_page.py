"""Attacks on the page's server from its own page: bodies that it would never send, and odd addresses."""

from __future__ import annotations

import hashlib
import json
import shutil
from functools import partial
from pathlib import Path
from typing import Any
from urllib.parse import quote

from support import wharf_in_small
from support.asked import Asked
from support.attacked import ANSWERED, NO_PLACE, REFUSED, Attack, End
from support.dice import Dice
from support.hostile import damaged_bytes
from support.hostile_values import HUGE, ODD_NUMBERS, ODD_WORDS
from towerpace import load
from towerpace.answers.prepare import prepare
from towerpace.workbench.desk import Desk
from towerpace.workbench.fields import COUNT, DATE, DATES, FLAG, HOURS, NUMBER, SHIFT, SPREAD
from towerpace.workbench.guards import Lock
from towerpace.workbench.server import app_of

PORT = 8123
ORIGIN = f"http://127.0.0.1:{PORT}"
ADDRESSES = ("/static/", "/trial/", "/report?gen=")
ODD = (None, True, [], {}, [[]], [1, "x", {}], {"value": 1}, {"low": 3, "likely": 1, "high": 2}, [None] * 500)


def arenas(folder: Path) -> dict[str, Attack]:
    """Each by what is attacked. folder : an empty one."""
    return {"requests of the page": partial(_request, wharf_in_small.write(folder / "page"))}


def _request(path: Path, dice: Dice) -> End:
    """One request to a desk of its own; what it takes must be a scenario that can be loaded."""
    good = path.with_name("good.toml")
    if not good.exists():
        shutil.copy(path, good)
    shutil.copy(good, path)
    lock, desk = Lock(PORT), Desk(str(path), seed=1)
    page = Asked(app_of(desk, lock), ORIGIN)
    page.get(f"/?key={lock.key}")
    if dice.whole(1, 6) == 1:
        answer = page.get(dice.of(ADDRESSES) + _as_address(dice.of(ODD_WORDS)))
        return End(REFUSED if answer.status_code >= 400 else ANSWERED)
    where, body = dice.of([_asked, _asked, _kept])(desk, path, dice)
    text = (
        json.dumps(body) if dice.whole(1, 8) > 1 else damaged_bytes(json.dumps(body), dice).decode("latin-1")
    )
    headers = {"origin": ORIGIN, "content-type": "application/json"}
    answer = page.post(where, content=text.encode(), headers=headers)
    if answer.status_code == 200:
        prepare(load(path, desk.changes if where == "/ask" else {}))
    if answer.status_code < 400:
        return End(ANSWERED)
    faults = answer.json()["faults"]
    return End(REFUSED if faults and all(faults) else NO_PLACE, answer.text)


def _as_address(word: str) -> str:
    return quote(word[:2000].encode(errors="replace"), safe="")


def _asked(desk: Desk, _path: Path, dice: Dice) -> tuple[str, dict[str, Any]]:
    body = {"changes": _changes(desk, dice), "trials": dice.of([1, 20, 200])}
    return "/ask", _with_odd(body, dice)


def _kept(desk: Desk, path: Path, dice: Dice) -> tuple[str, dict[str, Any]]:
    was = hashlib.sha256(path.read_bytes()).hexdigest()
    body = {
        "changes": _changes(desk, dice),
        "name": dice.of(dice.of([["tried"], ["tried", "second_hoist"], [None], ODD_WORDS])),
        "note": dice.of(dice.of([["", "a note"], ODD_WORDS])),
        "was": dice.of([was] * 9 + ["", was.upper()]),
    }
    return "/keep", _with_odd(body, dice)


def _with_odd(body: dict[str, Any], dice: Dice) -> dict[str, Any]:
    """Now and then with a key that is odd, or an odd value for one."""
    if dice.whole(1, 12) == 1:
        body[dice.of([*body, "set_up", *ODD_WORDS])] = dice.of([*ODD, *ODD_WORDS])
    return body


def _changes(desk: Desk, dice: Dice) -> Any:
    if dice.whole(1, 10) == 1:
        return dice.of([*ODD, *ODD_WORDS])
    offers, changes = desk.edition.offers, {}
    for _ in range(dice.of([1, 1, 2, 5])):
        key = dice.of([*offers])
        changes[key] = _value(offers[key].form.kind, dice)
    if dice.whole(1, 12) == 1:
        changes[dice.of(ODD_WORDS)] = 1
    return changes


def _value(kind: str, dice: Dice) -> Any:
    """A value that fits its kind, mostly; whether it makes sense there is another question."""
    if dice.whole(1, 6) == 1:
        return dice.of(dice.of([HUGE[:6], ODD_NUMBERS, ODD, ODD_WORDS]))
    days = ["2027-03-01", "2027-06-30", "2028-02-29", "0001-01-01", "9999-12-31"]
    fitting: dict[str, list[Any]] = {
        COUNT: [0, 1, 2, 3, 100_000],
        NUMBER: [0, 1, 2.5, 0.5, 100],
        DATE: [*days, None],
        SHIFT: [0, 1, 14, -3, *days],
        DATES: [[], days[:1], days],
        HOURS: [[], ["07:00-12:00"], ["00:00-24:00"], ["07:00-12:00", "11:00-13:00"], ["23:00-07:00"]],
        SPREAD: [
            0,
            5,
            {"low": 1, "likely": 2, "high": 3, "shape": "pert"},
            {"low": 3, "likely": 1, "high": 2},
        ],
        FLAG: [True, False],
    }
    return dice.of(fitting[kind])
