"""What a scenario is, before any trial."""

from __future__ import annotations

from towerpace.answers.outline import Outline, outline
from towerpace.answers.outline_said import OUTLINE_TABLES, said
from towerpace.answers.prepare import prepare
from towerpace.face.result import Result, explained
from towerpace.scenario.load import Scenario


@explained(OUTLINE_TABLES)
class Check(Result[Outline]):
    """What a scenario is: its size, its dates if all goes as planned, what lacks a source, its warnings."""


def check(scenario: Scenario) -> Check:
    """Check that a scenario can be run, and say what it is: nothing is drawn.

    Parameters
    ----------
    scenario : Scenario
        From `load`, which has refused what is wrong in the file itself.

    Returns
    -------
    Check
        DataFrames from `frame`, the numbers in `detail`.

    Raises
    ------
    InputError
        For a scenario that cannot be run.

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
    ready = prepare(scenario)
    outlined = outline(ready)
    return Check(said(ready, outlined), outlined)
