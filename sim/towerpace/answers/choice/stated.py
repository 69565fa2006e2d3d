"""Every set-up and candidate that a scenario states, loaded and planned before the clock starts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import TypeVar

from towerpace.answers.prepare import Prepared, prepare
from towerpace.faults import Fault, InputError
from towerpace.scenario.doubts import Doubt
from towerpace.scenario.load import Scenario
from towerpace.scenario.plausible import warnings_of
from towerpace.scenario.setups import OF_A_CHANGE, SetUp, named_setup, placed, stated_names

Made = TypeVar("Made")


def stated_setups(scenario: Scenario, names: Sequence[str] | None = None) -> list[SetUp]:
    """Set-ups and candidates of a scenario, each loaded.

    names : those wanted; all that the file states if left out.

    Raises `InputError` with every fault of all of them, at the lines of the file.
    """
    wanted = stated_names(scenario) if names is None else names
    return all_of([partial(named_setup, scenario, name) for name in wanted])


def planned(base: Scenario, setups: Sequence[SetUp]) -> list[Prepared]:
    """Set-ups made ready for trials.

    Raises `InputError` with every fault of all of them that shows only in the plan.
    """
    return all_of([partial(_planned, base, setup) for setup in setups])


def _planned(base: Scenario, setup: SetUp) -> Prepared:
    try:
        return prepare(setup.scenario)
    except InputError as error:
        raise InputError(_named(base, setup, fault) for fault in error.faults) from None


def _named(base: Scenario, setup: SetUp, fault: Fault) -> Fault:
    if setup.scenario is base:
        return fault
    if setup.name in stated_names(base):
        return placed(base, setup.name, fault)
    return replace(fault, key=f"{setup.name}: {fault.key}")


def all_of(makers: Sequence[Callable[[], Made]]) -> list[Made]:
    """What every call gives; raises `InputError` with the faults of all that give nothing."""
    ready: list[Made] = []
    faults: list[Fault] = []
    for make in makers:
        try:
            ready.append(make())
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    return ready


def all_doubts(base: Scenario, setups: Sequence[SetUp]) -> Iterator[Doubt]:
    """Doubts about a scenario, and about set-ups that it states where the base raises none at that key."""
    own = warnings_of(base)
    yield from own
    known = {doubt.key for doubt in own}
    for setup in setups:
        for doubt in warnings_of(setup.scenario):
            if doubt.key.removeprefix(OF_A_CHANGE) not in known:
                place = _named(base, setup, doubt.fault())
                yield replace(doubt, line=place.line, key=place.key)
