"""What it is worth to know an uncertain number before a choice is made."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from typing import get_args

from towerpace.answers.choice.chosen import Wanted, chosen
from towerpace.answers.know import know as answers
from towerpace.answers.know.know import LossName
from towerpace.answers.know.know_said import KNOW_FIGURES, said
from towerpace.answers.know.know_tables import KNOW_TABLES
from towerpace.answers.know.value import FEWEST
from towerpace.engine.names import EngineName, played_by
from towerpace.face.asked import check_engine, check_numbers
from towerpace.face.defaults import COMPARE_TRIALS, SEED
from towerpace.face.result import Result, cut_short, explained
from towerpace.faults import Fault, InputError
from towerpace.scenario.load import Scenario


@explained(KNOW_TABLES, figures=KNOW_FIGURES)
class Knowing(Result[answers.Known]):
    """What it is worth to know each drawn number before choosing between set-ups."""


def know(
    scenario: Scenario,
    setups: Wanted,
    *,
    by: LossName | None = None,
    trials: int = COMPARE_TRIALS,
    seed: int = SEED,
    workers: int = 1,
    executor: Executor | None = None,
    engine: EngineName = "fastest",
    on_done: Callable[[int], None] = lambda _: None,
) -> Knowing:
    """Value what could be known before choosing between the scenario as it is and its set-ups.

    Parameters
    ----------
    scenario : Scenario
        The base, from `load`; one of the choices.
    setups : str, sequence or mapping
        The other choices, as of `compare`; only what can be chosen, not what may befall.
    by : {"money", "days"}, optional
        What a choice loses: its mean cost with damages, or its mean days. Money if the scenario states costs.
    trials : int
        Of each choice, at least 40.
    seed, workers, executor, engine, on_done
        As of `forecast`.

    Returns
    -------
    Knowing
        DataFrames from `frame`, figures from `plot`.

    Raises
    ------
    InputError
        For what cannot be run, numbers out of range, nothing to choose from, or money without costs.

    Examples
    --------
    >>> from towerpace import know, load
    >>> tower = load("scenarios/one_hoist/scenario.toml")
    >>> result = know(tower, ["second_hoist", "third_crane"], trials=60)
    >>> result.answer.fact("choice"), result.answer.fact("by")
    ('second_hoist', 'days')
    """
    asked = {"trials": (trials, FEWEST, None), "seed": (seed, 0, None), "workers": (workers, 1, None)}
    check_numbers(scenario.path, asked)
    check_engine(scenario.path, engine)
    loses = _by(scenario, by)
    wanted = chosen(scenario, setups)
    with played_by(engine):
        known = answers.know(
            wanted,
            by=loses,
            trials=trials,
            seed=seed,
            workers=workers,
            executor=executor,
            on_done=on_done,
        )
    result = Knowing(said(known), known)
    result.answer = cut_short(result.answer, result.interrupted)
    return result


def _by(scenario: Scenario, by: LossName | None) -> LossName:
    has_costs = scenario.settings.cost is not None
    if by is None:
        return "money" if has_costs else "days"
    if by not in get_args(LossName):
        raise InputError([Fault(str(scenario.path), None, "by", repr(by), "'money' or 'days'")])
    if by == "money" and not has_costs:
        allowed = "a [cost] table with cost_per_day of resources, or by days"
        raise InputError([Fault(str(scenario.path), None, "cost", "missing table", allowed)])
    return by
