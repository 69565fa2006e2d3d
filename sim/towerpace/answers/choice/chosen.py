"""Which set-ups are compared: those that a scenario states, other files, or changes given by name."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from towerpace.faults import Fault, InputError
from towerpace.scenario.load import Scenario, load
from towerpace.scenario.setups import BASE, SetUp, base_of, changed, named_setup

Wanted = str | Sequence[str | SetUp] | Mapping[str, Mapping[str, object] | Scenario]


def chosen(scenario: Scenario, wanted: Wanted | None = None) -> list[SetUp]:
    """The base, and the set-ups to be compared with it.

    Parameters
    ----------
    scenario : Scenario
        The base.
    wanted : str, sequence or mapping, optional
        Names of [setup.NAME] or [candidate.NAME], scenario files (they end in .toml), or set-ups; or by name
        the dotted keys that change, or another scenario. All [setup.NAME] if nothing is given.

    Raises
    ------
    InputError
        With every fault of every set-up; for a name given twice; and if there is nothing to compare.
    """
    makers = list(_makers(scenario, list(scenario.settings.setup) if wanted is None else wanted))
    setups = [base_of(scenario)]
    faults: list[Fault] = []
    for make in makers:
        try:
            setups.append(make())
        except InputError as error:
            faults += error.faults
    twice = [name for name, n in Counter(setup.name for setup in setups).items() if n > 1]
    faults += [Fault(scenario.path, None, "setup", f"{name} twice", "each name once") for name in twice]
    if not makers:
        faults.append(Fault(scenario.path, None, "setup", "none", "at least one [setup.NAME] to compare"))
    if faults:
        raise InputError(faults)
    return setups


def _makers(scenario: Scenario, wanted: Wanted) -> Iterator[Callable[[], SetUp]]:
    """A call for each set-up, so that the faults of all of them are found."""
    if isinstance(wanted, Mapping):
        for name, what in wanted.items():
            if isinstance(what, Scenario):
                yield partial(SetUp, name, {}, what)
            else:
                yield partial(changed, scenario, name, what)
        return
    for choice in [wanted] if isinstance(wanted, str) else wanted:
        if isinstance(choice, SetUp):
            yield partial(replace, choice)
        elif choice.endswith(".toml"):
            yield partial(_of_file, choice)
        elif choice != BASE:  # always there
            yield partial(named_setup, scenario, choice)


def _of_file(name: str) -> SetUp:
    return SetUp(Path(name).parent.name or name, {}, load(name))
