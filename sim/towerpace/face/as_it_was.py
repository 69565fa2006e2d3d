"""The scenario of a saved answer, found again: results name it from where the command was run."""

from __future__ import annotations

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
        working folder, from every folder above the results, and from every folder above `now`.

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
    named = _found(answer, folder, Path(now.path).parent)
    for scenario in named:
        if scenario.hash == answer.run.hash:
            return scenario
    nowhere = "stands neither here nor above the results or the scenario"
    found = f"{answer.run.path}, which {'has changed since' if named else nowhere}"
    allowed = f"the scenario as it was: keep a copy, and name it with --{key}-scenario"
    raise InputError([Fault(str(folder), None, key, found, allowed)])


def scenario_as_it_is(answer: Answer, folder: Path) -> Scenario:
    """The scenario that an answer names, as it was if it still stands somewhere, else as it is by now.

    It is looked for from the working folder and from every folder above the results. folder : where they lie.

    Raises
    ------
    InputError
        Where it stands nowhere.
    """
    named = _found(answer, folder)
    if not named:
        found = f"{answer.run.path}, which stands neither here nor above the results"
        raise InputError([Fault(str(folder), None, "scenario", found, "its file, named with --scenario")])
    return next((scenario for scenario in named if scenario.hash == answer.run.hash), named[0])


def _found(answer: Answer, *folders: Path) -> list[Scenario]:
    """Scenarios under the name that an answer has, from here and from the folders and all above them.

    Another's file of that name may be one that cannot be loaded: its faults are told where there is no other.
    """
    above = [place for folder in folders for place in (folder.resolve(), *folder.resolve().parents)]
    places = (Path(answer.run.path), *(place / answer.run.path for place in above))
    found, refused = list[Scenario](), None
    for path in dict.fromkeys(path.resolve() for path in places):
        if path.is_file():
            try:
                found.append(load(path))
            except InputError as error:
                refused = refused or error
    if refused is not None and not found:
        raise refused
    return found
