"""Changes as the page sends them, turned into what a file would hold; whatever was not offered is refused."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from math import isfinite
from typing import Any

from towerpace.faults import Fault, InputError, nearest_word
from towerpace.scenario.complaints import Path, dotted, shown
from towerpace.scenario.load import Scenario
from towerpace.workbench.fields import COUNT, DATE, DATES, FLAG, HOURS, NUMBER, SHIFT, SPREAD, SPREAD_KEYS
from towerpace.workbench.offered import Offer

MOST_CHANGES = 200
_LONGEST = 400  # dates of one list, or parts of a day


class NotTakenError(ValueError):
    """A value that no file could hold there."""


def changes_given(scenario: Scenario, offers: Mapping[str, Offer], given: object) -> dict[str, object]:
    """Changes of the page as dotted keys and values of a file.

    given : decoded JSON. Raises `InputError` with a fault for each that was not offered or is no such value.

    Examples
    --------
    >>> from towerpace import load
    >>> from towerpace.workbench.offered import offers_of
    >>> site = load("scenarios/one_hoist/scenario.toml")
    >>> changes_given(site, offers_of(site), {"resource.hoist.count": 2})
    {'resource.hoist.count': 2}
    >>> changes_given(site, offers_of(site), {"tower.levels": "other.csv"})
    Traceback (most recent call last):
    ...
    towerpace.faults.InputError: scenarios/one_hoist/scenario.toml: 1 fault
      tower.levels: found a change; allowed: a key that the page offers
    """
    if not isinstance(given, dict) or len(given) > MOST_CHANGES:
        allowed = f"a table of at most {MOST_CHANGES} keys and values"
        raise InputError([Fault(scenario.path, None, "changes", shown(given), allowed)])
    taken: dict[Path, object] = {}
    faults: list[Fault] = []
    for key, value in given.items():
        offer = offers.get(key)
        if offer is None:
            allowed, nearest = "a key that the page offers", nearest_word(key, offers)
            faults.append(Fault(scenario.path, None, key[:80], "a change", allowed, nearest))
            continue
        try:
            taken[offer.path] = _taken(offer, value)
        except NotTakenError:
            faults.append(Fault(scenario.path, None, key, shown(value), offer.form.allowed))
    if faults:
        raise InputError(faults)
    return {dotted(path): value for path, value in _with_units(scenario, taken).items()}


def _taken(offer: Offer, value: Any) -> object:
    """A value as a file holds it; None takes the key away where a date may be missing."""
    kind = offer.form.kind
    if value is None and kind in (DATE, SHIFT):
        return None
    if kind == SHIFT:
        return value if _is_whole(value) else _date(value)
    readers = {DATE: _date, NUMBER: _number, SPREAD: _spread, DATES: _dates, HOURS: _hours}
    if kind in readers:
        return readers[kind](value)
    if (kind == COUNT and _is_whole(value)) or (kind == FLAG and isinstance(value, bool)):
        return value
    raise NotTakenError


def _is_whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _number(value: object) -> int | float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        raise NotTakenError
    return value


def _date(value: object) -> dt.date:
    try:
        if not isinstance(value, str):
            raise NotTakenError
        return dt.date.fromisoformat(value)
    except ValueError:
        raise NotTakenError from None


def _list(value: object) -> list[Any]:
    if not isinstance(value, list) or len(value) > _LONGEST:
        raise NotTakenError
    return value


def _dates(value: object) -> list[dt.date]:
    return [_date(entry) for entry in _list(value)]


def _hours(value: object) -> list[str]:
    if not all(isinstance(entry, str) for entry in _list(value)):
        raise NotTakenError
    return list(_list(value))


def _spread(value: object) -> object:
    """A number, or a table of the numbers of a spread; samples are a file's and are not taken."""
    if not isinstance(value, dict):
        return _number(value)
    if not set(value) <= set(SPREAD_KEYS):
        raise NotTakenError
    shape = value.get("shape", "")
    if not isinstance(shape, str):
        raise NotTakenError
    return {key: entry if key == "shape" else _number(entry) for key, entry in value.items()}


def _with_units(scenario: Scenario, taken: Mapping[Path, object]) -> dict[Path, object]:
    """Changes of single units that the file does not know yet, as whole lists of the units of a resource."""
    changes, new = dict(taken), dict[str, dict[Path, object]]()
    for name, resource in scenario.settings.resource.items():
        own = {path: value for path, value in taken.items() if path[:3] == ("resource", name, "unit")}
        if any(path[3] == len(resource.unit) and value is not None for path, value in own.items()):
            new[name] = own
        else:
            own = {path: value for path, value in own.items() if path[3] == len(resource.unit)}
        changes = {path: value for path, value in changes.items() if path not in own}
    for name, own in new.items():
        changes["resource", name, "unit"] = _units(scenario, name, own)
    return changes


def _units(scenario: Scenario, name: str, own: Mapping[Path, object]) -> list[dict[str, object]]:
    stated = scenario.settings.resource[name].unit
    units: list[dict[str, object]] = [
        {
            key: [{"from": span.from_, "to": span.to} for span in value] if key == "away" else value
            for key, value in ((key, getattr(unit, key)) for key in ("units", "arrives", "leaves", "away"))
            if value not in (None, ())
        }
        for unit in stated
    ]
    units.append({"units": 1})
    for path, value in own.items():
        place, key = int(path[3]), str(path[4])
        units[place] = {k: v for k, v in {**units[place], key: value}.items() if v is not None}
    return units
