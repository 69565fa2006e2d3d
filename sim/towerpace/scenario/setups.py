"""Set-ups and candidates: named changes of a scenario."""

from collections.abc import Mapping
from dataclasses import dataclass

from towerpace.faults import Fault, InputError, nearest_word
from towerpace.scenario.load import Scenario, load

_NOTES = ("note", "source")
_SPREAD_KEYS = {"value", "low", "p10", "samples"}
BASE = "base"


@dataclass(frozen=True)
class SetUp:
    """A named change of a scenario, and the scenario it makes.

    changes : dotted keys and their new values; empty for the base.
    """

    name: str
    changes: Mapping[str, object]
    scenario: Scenario


def base_of(scenario: Scenario) -> SetUp:
    """The scenario as it is."""
    return SetUp(BASE, {}, scenario)


def named_setup(scenario: Scenario, name: str) -> SetUp:
    """A set-up that the scenario states under [setup.NAME] or [candidate.NAME].

    Raises `InputError` with the faults that the changes make, or for a name that is not there.
    """
    stated = {**scenario.settings.candidate, **scenario.settings.setup}
    if name not in stated:
        names = ", ".join([BASE, *stated]) if stated else f"{BASE}; the scenario states no [setup.NAME]"
        fault = Fault(scenario.path, None, "setup", name, names, nearest_word(name, [BASE, *stated]))
        raise InputError([fault])
    return changed(scenario, name, flattened(stated[name]))


def changed(scenario: Scenario, name: str, changes: Mapping[str, object]) -> SetUp:
    """The scenario with changes laid over it; raises `InputError` naming the set-up."""
    merged = {**scenario.changes, **changes}
    try:
        return SetUp(name, changes, load(scenario.path, merged))
    except InputError as error:
        faults = [
            Fault(f.file, f.line, f"{name}: {f.key}", f.found, f.allowed, f.nearest) for f in error.faults
        ]
        raise InputError(faults) from None


def flattened(table: Mapping[str, object], *, prefix: str = "") -> dict[str, object]:
    """Dotted keys of a set-up, whether it was written with dotted keys or as tables; notes are left out.

    >>> flattened({"resource": {"hoist": {"count": 3}}, "crane.set_up_min": 40, "note": "faster"})
    {'resource.hoist.count': 3, 'crane.set_up_min': 40}
    """
    flat: dict[str, object] = {}
    for key, value in table.items():
        if not prefix and key in _NOTES:
            continue
        path = f"{prefix}{key}"
        if isinstance(value, Mapping) and not _SPREAD_KEYS.intersection(value):
            flat |= flattened(value, prefix=f"{path}.")
        else:
            flat[path] = value
    return flat
