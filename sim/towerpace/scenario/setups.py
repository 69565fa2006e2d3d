"""Set-ups and candidates: named changes of a scenario."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from towerpace.faults import Fault, InputError, nearest_word
from towerpace.scenario.changes import parse_key
from towerpace.scenario.complaints import Path, RefusalError, dotted
from towerpace.scenario.load import Scenario, load

_NOTES = ("note", "source")
_SPREAD_KEYS = {"value", "low", "p10", "samples"}
OF_A_CHANGE = "set "  # how a fault of a value that a change has put there begins its key
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


def stated_names(scenario: Scenario) -> list[str]:
    """Names of every [setup.NAME] and [candidate.NAME], in the order of the vocabulary."""
    return list(dict.fromkeys([*scenario.settings.setup, *scenario.settings.candidate]))


def named_setup(scenario: Scenario, name: str) -> SetUp:
    """A set-up that the scenario states under [setup.NAME] or [candidate.NAME].

    Raises `InputError` with the faults that its changes make, at their lines, or for an unknown name.
    """
    settings = scenario.settings
    stated = {**settings.candidate, **settings.setup}
    if name not in stated:
        names = ", ".join([BASE, *stated]) if stated else f"{BASE}; the scenario states no [setup.NAME]"
        fault = Fault(scenario.path, None, "setup", name, names, nearest_word(name, [BASE, *stated]))
        raise InputError([fault])
    try:
        return _laid_over(scenario, name, flattened(stated[name]))
    except InputError as error:
        raise InputError(placed(scenario, name, fault) for fault in error.faults) from None


def changed(scenario: Scenario, name: str, changes: Mapping[str, object]) -> SetUp:
    """The scenario with changes laid over it; raises `InputError` naming the set-up."""
    try:
        return _laid_over(scenario, name, changes)
    except InputError as error:
        raise InputError(replace(fault, key=f"{name}: {fault.key}") for fault in error.faults) from None


def _laid_over(scenario: Scenario, name: str, changes: Mapping[str, object]) -> SetUp:
    return SetUp(name, changes, load(scenario.path, {**scenario.changes, **changes}, own=scenario.own))


def placed(scenario: Scenario, name: str, fault: Fault) -> Fault:
    """A fault of a set-up that the file states, at the line of the change that made it.

    A fault that no one change has made, as one of the plan, bears the name and stands at the set-up.
    """
    group = "setup" if name in scenario.settings.setup else "candidate"
    table = getattr(scenario.settings, group)[name]
    key = fault.key.removeprefix(OF_A_CHANGE)
    for path, _ in leaves(table):
        change = _as_dotted(path)
        if key == change or key.startswith((f"{change}.", f"{change}[")) or change.startswith(f"{key}."):
            line = scenario.fault((group, name, *path), found="", allowed="").line
            return replace(fault, line=line, key=f"{dotted((group, name))}.{key}")
    line = fault.line
    if line is None and fault.file == scenario.path:
        line = scenario.fault((group, name), found="", allowed="").line
    return replace(fault, line=line, key=f"{name}: {fault.key}")


def _as_dotted(path: Path) -> str:
    """Dotted key of a change as a fault names it."""
    return dotted(parse_key(_joined(path)))


def _joined(path: Path) -> str:
    """A path as one dotted key; a name that is no dotted key itself is quoted, as "from 20"."""
    return ".".join(part if _is_key(part) else dotted((part,)) for part in map(str, path))


def _is_key(part: str) -> bool:
    try:
        return bool(parse_key(part))
    except RefusalError:
        return False


def flattened(table: Mapping[str, object]) -> dict[str, object]:
    """Dotted keys of a set-up, whether it was written with dotted keys or as tables; notes are left out.

    >>> flattened({"resource": {"hoist": {"count": 3}}, "crane.set_up_min": 40, "note": "faster"})
    {'resource.hoist.count': 3, 'crane.set_up_min': 40}
    """
    return {_joined(path): value for path, value in leaves(table)}


def leaves(table: Mapping[str, object], *, above: Path = ()) -> Iterator[tuple[Path, object]]:
    """Path within the table, and value, of every change of a set-up."""
    for key, value in table.items():
        if not above and key in _NOTES:
            continue
        if isinstance(value, Mapping) and not _SPREAD_KEYS.intersection(value):
            yield from leaves(value, above=(*above, key))
        else:
            yield (*above, key), value
