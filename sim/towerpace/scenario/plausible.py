"""Warnings before harm: everything in a scenario that may stand there but is seldom meant."""

from towerpace.scenario.doubts import Doubt, in_order
from towerpace.scenario.load import Scenario
from towerpace.scenario.plausible_dates import (
    calendar_doubts,
    clock_doubts,
    handover_doubts,
    mock_up_doubts,
    resource_doubts,
)
from towerpace.scenario.plausible_limits import limit_doubts, sail_doubts, unlimited_doubts
from towerpace.scenario.plausible_numbers import height_doubts, number_doubts

_ASKED = (
    limit_doubts,
    unlimited_doubts,
    sail_doubts,
    number_doubts,
    height_doubts,
    calendar_doubts,
    resource_doubts,
    mock_up_doubts,
    handover_doubts,
    clock_doubts,
)


def warnings_of(scenario: Scenario) -> list[Doubt]:
    """Every value of a scenario that is unusual enough to ask about; none of them is a fault.

    Returns
    -------
    list of Doubt
        Those of the scenario file first, in line order, then those of the level table.

    Examples
    --------
    >>> from towerpace import load
    >>> warnings_of(load("scenarios/one_trade/scenario.toml"))
    []
    """
    raised = [doubt for doubts in _ASKED for doubt in doubts(scenario)]
    files = sorted({doubt.file for doubt in raised}, key=lambda file: file != scenario.path)
    return [doubt for file in files for doubt in in_order(doubt for doubt in raised if doubt.file == file)]
