"""What a scenario is, before any trial."""

from __future__ import annotations

from towerpace.answers.choice.stated import all_doubts, planned, stated_setups
from towerpace.answers.choose.open_setups import open_setups
from towerpace.answers.outline import Outline, outline
from towerpace.answers.outline_said import OUTLINE_TABLES, said
from towerpace.answers.prepare import prepare
from towerpace.face.result import Result, explained
from towerpace.faults import InputError
from towerpace.scenario.load import Scenario
from towerpace.trials.collector import collector_at_rest


@explained(OUTLINE_TABLES)
class Check(Result[Outline]):
    """What a scenario is: its size, its dates if all goes as planned, what lacks a source, its warnings."""


@collector_at_rest()
def check(scenario: Scenario, *, strict: bool = False) -> Check:
    """Check that a scenario, its set-ups and its candidates can be run, and say what it is; nothing is drawn.

    Parameters
    ----------
    scenario : Scenario
        From `load`, which has refused what is wrong in the file itself.
    strict : bool
        Refuse what is only unusual, too.

    Returns
    -------
    Check
        DataFrames from `frame`, the numbers in `detail`.

    Raises
    ------
    InputError
        For a scenario, set-up, candidate or value of a decision that cannot be run, and where `strict`, for
        every warning.

    Examples
    --------
    >>> from towerpace import check, load
    >>> result = check(load("scenarios/by_hand/scenario.toml"))
    >>> print(result.frame("planned")[["case", "finish"]].to_string(index=False))
                              case     finish
    no weather, no resource limits 2027-05-17
                        no weather 2027-05-17
               weather as recorded 2027-05-17
    """
    ready, setups = prepare(scenario), stated_setups(scenario)
    planned(scenario, setups)
    if scenario.settings.decision:
        open_setups(scenario, is_planned=False)
    doubts = list(all_doubts(scenario, setups))
    if strict and doubts:
        raise InputError(doubt.fault() for doubt in doubts)
    outlined = outline(ready)
    return Check(said(ready, outlined, doubts=doubts), outlined)
