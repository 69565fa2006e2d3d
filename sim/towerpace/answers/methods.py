"""How answers are made, each way with its reference, for those who must defend the numbers."""

from __future__ import annotations

from towerpace.answers.said.answer import Method
from towerpace.scenario.load import Scenario

# References quoted from memory, none of them re-read for this list.
SCHEDULE = Method(
    "Each trial draws everything uncertain first: paces, weather, deliveries, breakages. Then it plays "
    "the site: a step starts at the first instant when what comes before it is done, its date has come, "
    "its window is open and all it needs is free; steps that compete are served in the order of their "
    "keys. This is parallel schedule generation, with calendars and weather.",
    "J. E. Kelley (1963), The critical-path method: resources planning and scheduling, in Muth & Thompson "
    "(eds.), Industrial Scheduling; R. Kolisch (1996), Serial and parallel resource-constrained project "
    "scheduling methods revisited, European Journal of Operational Research 90: 320-333.",
)
BLOCKS = Method(
    "Weather comes in blocks of whole days, taken from around the same season of the record, so that "
    "spells, nights and what goes together stay real, while the order of the blocks is chance.",
    "H. R. Künsch (1989), The jackknife and the bootstrap for general stationary observations, Annals of "
    "Statistics 17: 1217-1241.",
)
RANKS = Method(
    "A percentile is the trial of its rank; its 95 % interval lies between two ranks given by the "
    "binomial law, whatever the shape of the curve. Trials that do not finish by the last day played "
    "count as later than all others; none is dropped.",
    "W. J. Conover (1999), Practical Nonparametric Statistics, 3rd ed., section 3.2.",
)
COUNTS = Method(
    "A chance is a share of trials, with its exact binomial interval of 95 %.",
    "C. J. Clopper & E. S. Pearson (1934), The use of confidence or fiducial limits, Biometrika 26: 404-413.",
)
COMMON_DRAWS = Method(
    "Set-ups share their draws, so that a difference is theirs and not of chance.",
    "A. M. Law (2015), Simulation Modeling and Analysis, 5th ed., section 11.2, on common random numbers.",
)
SELECTION = Method(
    "What to add first was chosen by a sequential procedure that drops the weak early.",
    "S.-H. Kim & B. L. Nelson (2001), A fully sequential procedure for indifference-zone selection in "
    "simulation, ACM Transactions on Modeling and Computer Simulation 11: 251-273.",
)
LEDGER = Method(
    "Every minute of every work area stands under one cause. Work, crane moves, weather and waits for a "
    "gang are counted in shift hours; waits for what has not come yet run day and night."
)


def of_trials(scenario: Scenario) -> list[Method]:
    """How a trial is played; the weather only where the scenario has some."""
    return [SCHEDULE] if scenario.settings.weather is None else [SCHEDULE, BLOCKS]
