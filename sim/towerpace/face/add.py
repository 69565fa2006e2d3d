"""Which resource to add, and what it buys."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from contextlib import nullcontext

from towerpace.answers.choice import add as answers
from towerpace.answers.choice import add_said
from towerpace.answers.choice.add_said import ADD_FIGURES
from towerpace.answers.choice.add_tables import ADD_TABLES
from towerpace.answers.choice.lab import Lab, processes
from towerpace.engine.names import EngineName, played_by
from towerpace.face import defaults
from towerpace.face.asked import check_engine, check_numbers
from towerpace.face.result import Result, cut_short, explained
from towerpace.scenario.load import Scenario


@explained(ADD_TABLES, figures=ADD_FIGURES)
class Advice(Result[answers.AdviceDetail]):
    """What to add first, and then.

    Differences are with the change less without: negative days are earlier, negative money is cheaper.
    """

    @property
    def interrupted(self) -> str:
        """What Ctrl-C cut short, in words; "" of a whole answer."""
        return _interrupted(self.detail)


def add(
    scenario: Scenario,
    *,
    matters: float = defaults.MATTERS_DAYS,
    confidence: float = defaults.ADD_CONFIDENCE,
    trials: int = defaults.ADD_TRIALS,
    steps: int = defaults.ADD_STEPS,
    seed: int = defaults.SEED,
    workers: int = 1,
    executor: Executor | None = None,
    engine: EngineName = "fastest",
    say: Callable[[str], None] = lambda _: None,
) -> Advice:
    """Rank units more and less of every resource, alone and together, and give the path of those that help.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    matters : float
        Difference of the finish that matters. [d]
    confidence : float
        That the first named of a round is the best of it. [-]
    trials : int
        Of one set-up at the most while it is chosen, which stops as soon as the choice is settled; what is
        named first is then played as often again under fresh draws.
    steps : int
        Additions of the path at the most.
    seed, workers, executor, engine
        As of `forecast`.
    say : callable
        Told what is being tried.

    Returns
    -------
    Advice
        DataFrames from `frame`, a figure from `plot`.

    Raises
    ------
    InputError
        For what cannot be run, or numbers out of range.

    Examples
    --------
    >>> from towerpace import add, load
    >>> advice = add(load("scenarios/one_hoist/scenario.toml"), matters=1, trials=20, steps=1)
    >>> advice
    <Advice: Add panel_gang, floor_crane and hoist +1 each, which gain 6...
    >>> ranking = advice.frame("ranking")[["addition", "diff_days", "verdict"]]
    >>> print(ranking[1:].round(1).to_string(index=False))
          addition  diff_days           verdict
          hoist +1       -1.4             helps
     panel_gang +1        0.0 same in 20 trials
    floor_crane +1        0.0 same in 20 trials
            bay +1        0.0    makes it later
     panel_gang -1       12.8            needed
    floor_crane -1       12.9            needed
    """
    check_numbers(
        scenario.path,
        {
            "matters": (matters, defaults.LEAST_MATTERS_DAYS, None),
            "confidence": (confidence, defaults.LEAST_CONFIDENCE, defaults.MOST_CONFIDENCE),
            "trials": (trials, defaults.ADD_LEAST_TRIALS, None),
            "steps": (steps, 1, None),
            "seed": (seed, 0, None),
            "workers": (workers, 1, None),
        },
    )
    check_engine(scenario.path, engine)
    rules = answers.Rules(zone_days=matters, confidence=confidence, most=trials, steps=steps)
    with played_by(engine), processes(workers) if executor is None else nullcontext(executor) as pool:
        lab = Lab(seed, executor=pool)

        def tell(what: str) -> None:
            say(f"{what} ({lab.spent} trials so far)")

        advice = answers.add(scenario, lab=lab, seed=seed, rules=rules, say=tell)
        return Advice(cut_short(add_said.said(advice), _interrupted(advice)), advice)


def _interrupted(advice: answers.AdviceDetail) -> str:
    return f"the search ended after {advice.trials_used:,} trials" if advice.interrupted else ""
