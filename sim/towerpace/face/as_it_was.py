"""The scenario of a saved answer, found again: results name it from where the command was run."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from towerpace.answers.said.answer import Answer
from towerpace.faults import Fault, InputError
from towerpace.scenario.load import Scenario, load


def scenario_as_it_was(
    answer: Answer, folder: Path, *, key: str, now: Scenario, given: Scenario | None = None
) -> Scenario:
    """The scenario of an answer, by its hash.

    Parameters
    ----------
    answer : Answer
        A saved one. folder : where it lies.
    key : str
        Under which a fault is told.
    now : Scenario
        As it is now: most often the same.
    given : Scenario, optional
        As it was, where the user says so; else it is looked for under the name that the answer has, from the
        working folder and from every folder above the results.

    Raises
    ------
    InputError
        Where none of them is the scenario of the answer.
    """
    if now.hash == answer.run.hash:
        return now
    if given is not None:
        if given.hash != answer.run.hash:
            found, allowed = f"hash {given.hash[:12]}", f"that of {folder}, {answer.run.hash[:12]}"
            raise InputError([Fault(given.path, None, f"{key}-scenario", found, allowed)])
        return given
    named = list(_found(answer, folder))
    for scenario in named:
        if scenario.hash == answer.run.hash:
            return scenario
    changed = f"{answer.run.path}, which has changed since"
    found = changed if named else f"{answer.run.path}, which stands neither here nor above the results"
    allowed = f"the scenario as it was: keep a copy, and name it with --{key}-scenario"
    raise InputError([Fault(str(folder), None, key, found, allowed)])


def scenario_as_it_is(answer: Answer, folder: Path) -> Scenario:
    """The scenario that an answer names, as it was if it still stands somewhere, else as it is by now.

    It is looked for as by `scenario_as_it_was`. folder : where the answer lies.

    Raises
    ------
    InputError
        Where it stands nowhere.
    """
    named = list(_found(answer, folder))
    if not named:
        found = f"{answer.run.path}, which stands neither here nor above the results"
        raise InputError([Fault(str(folder), None, "scenario", found, "its file, named with --scenario")])
    return next((scenario for scenario in named if scenario.hash == answer.run.hash), named[0])


def _found(answer: Answer, folder: Path) -> Iterator[Scenario]:
    places = (Path(answer.run.path), *(above / answer.run.path for above in folder.resolve().parents))
    for path in dict.fromkeys(path.resolve() for path in places):
        if path.is_file():
            yield load(path)
