"""Why the finish is late: what held it, who waits for what, and how one trial went."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from datetime import date

from towerpace.answers.prepare import prepare
from towerpace.answers.reconciled import removal_trials
from towerpace.answers.why import explain as answers
from towerpace.answers.why.explained_said import EXPLAINED_FIGURES, said
from towerpace.answers.why.explained_tables import EXPLAINED_TABLES
from towerpace.answers.why.telling import story_of
from towerpace.answers.why.trial_tables import TRIAL_TABLES
from towerpace.engine.names import EngineName, played_by
from towerpace.face.asked import check_engine, check_numbers
from towerpace.face.defaults import EXPLAIN_TRIALS, SEED
from towerpace.face.result import Result, cut_short, explained
from towerpace.scenario.load import Scenario


@explained((*EXPLAINED_TABLES, *TRIAL_TABLES), figures=EXPLAINED_FIGURES)
class Explanation(Result[answers.ExplanationDetail]):
    """What held the finish over many trials and who waits for what; on request how one trial went.

    The tables from `stretches` on and the figure `chain_of_trial` are of one trial: `explain(..., trial=3)`.
    """

    @property
    def interrupted(self) -> str:
        """What Ctrl-C cut short, in words; "" of a whole answer."""
        left = self.detail.not_removed
        return f"not removed: {', '.join(left)}" if left else super().interrupted


def explain(
    scenario: Scenario,
    *,
    trials: int = EXPLAIN_TRIALS,
    seed: int = SEED,
    trial: int | None = None,
    days: tuple[date, date] | None = None,
    removals: bool = False,
    cost: Callable[[int], None] = lambda _: None,
    workers: int = 1,
    executor: Executor | None = None,
    engine: EngineName = "fastest",
    on_done: Callable[[int], None] = lambda _: None,
) -> Explanation:
    """Play trials and gather their controlling chains: what held the finish, and who waits for what.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    trial : int, optional
        Also tell this trial of the seed, numbered from 0: its chain, its fronts and its site diary.
    days : pair of date, optional
        First and last day of the diary that a terminal shows; tables and files have all of it.
    removals : bool
        Whether every source of spread is removed, too: as many trials for each. Ctrl-C keeps those done.
    cost : callable
        Told the trials of the removals before any is played.
    trials, seed, workers, executor, engine, on_done
        As of `forecast`.

    Returns
    -------
    Explanation
        DataFrames from `frame`, figures from `plot`.

    Raises
    ------
    InputError
        For a scenario that cannot be run, or numbers out of range.

    Examples
    --------
    >>> from towerpace import explain, load
    >>> why = explain(load("scenarios/one_hoist/scenario.toml"), trials=10, trial=3)
    >>> print(why.frame("pools").round(1).to_string(index=False))
           pool  mean_days  share
          hoist        4.1    1.0
     panel_gang        0.6    0.5
    floor_crane        0.6    0.5
            bay        0.0    0.1
    >>> why.frame("diary")["said"].iloc[0]
    'L1 handed over'
    """
    asked = {"trials": (trials, 1, None), "seed": (seed, 0, None), "workers": (workers, 1, None)}
    check_numbers(scenario.path, {**asked, **({} if trial is None else {"trial": (trial, 0, None)})})
    check_engine(scenario.path, engine)
    if removals:
        cost(removal_trials(prepare(scenario), trials=trials))
    with played_by(engine):
        played = answers.explain(
            scenario,
            trials=trials,
            seed=seed,
            removed=removals,
            workers=workers,
            executor=executor,
            on_done=on_done,
        )
    story = None if trial is None else story_of(played.ready, seed=seed, trial=trial)
    result = Explanation(said(played, story=story, days=days), played)
    result.answer = cut_short(result.answer, result.interrupted if played.not_removed else "")
    return result
