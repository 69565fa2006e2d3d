"""What to decide: the least cost for a date, the earliest within a budget, or the trade-off of both."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Executor
from contextlib import contextmanager
from pathlib import Path

from towerpace import __version__
from towerpace.answers.choose.choice import Asked, ChoiceDetail
from towerpace.answers.choose.choice import choose as answer_of
from towerpace.answers.choose.choice_said import CHOICE_FIGURES, note_of, said
from towerpace.answers.choose.choice_tables import CHOICE_TABLES
from towerpace.answers.choose.goal import Goal
from towerpace.answers.choose.keeping import Kept
from towerpace.answers.choose.names import kept_names
from towerpace.answers.choose.open_setups import open_setups
from towerpace.answers.choose.played import Played
from towerpace.answers.choose.visited import FIRST
from towerpace.answers.days import Days
from towerpace.answers.prepare import prepare
from towerpace.engine.names import EngineName, played_by
from towerpace.face import defaults
from towerpace.face.asked import check_engine, check_numbers
from towerpace.face.result import Result, cut_short, explained
from towerpace.faults import Fault, InputError
from towerpace.scenario.load import Scenario
from towerpace.trials.processes import Processes

IN_FLIGHT = 32  # tasks on their way to somebody else's executor, whose workers nobody here can count


@explained(CHOICE_TABLES, figures=CHOICE_FIGURES)
class Choice(Result[ChoiceDetail]):
    """What to decide, what it costs and gains against the file, and what would change it.

    Differences are with the change less without: negative days are earlier, negative money is cheaper.
    """

    kept_in: Path | None = None

    @property
    def changes(self) -> Mapping[str, object]:
        """Dotted keys and values of the choice, as a set-up has them; empty where the file stays as it is."""
        return {} if self.detail.chosen is None else self.detail.chosen.changes

    def set_ups(self, name: str) -> Mapping[str, Mapping[str, object]]:
        """Changes of the choice under a name; of a trade-off those of every set-up kept, the cheapest first.

        The names of a trade-off end in the numbers of its table. Empty where nothing was found but the file.
        """
        return kept_names(self.detail, name)

    def note(self, name: str) -> str:
        """What stands beside a set-up that is kept: what it was chosen for."""
        return note_of(self.detail, name)

    @property
    def interrupted(self) -> str:
        """What Ctrl-C cut short, in words; "" of a whole answer."""
        if not self.detail.cut_short:
            return ""
        where = "" if self.kept_in is None else f"; what was played is kept in {self.kept_in}"
        return f"{self.detail.cut_short} is not finished after {self.detail.spent:,} trials{where}"


def choose(
    scenario: Scenario,
    *,
    by: datetime.date | None = None,
    confidence: float = defaults.CHOOSE_CONFIDENCE,
    earliest: bool = False,
    within: float | None = None,
    matters: float = defaults.MATTERS_DAYS,
    matters_cost: float | None = None,
    sure: float = defaults.CHOOSE_SURE,
    trials: int = defaults.CHOOSE_TRIALS,
    fresh: int = defaults.CHOOSE_FRESH,
    kept: str | os.PathLike[str] | None = None,
    seed: int = defaults.SEED,
    workers: int = 1,
    executor: Executor | None = None,
    engine: EngineName = "fastest",
    say: Callable[[str], None] = lambda _: None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Choice:
    """Decide what [decision.NAME] and [candidate.NAME] leave open.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    by : date, optional
        The least cost at which the tower finishes by this date, with `confidence`.
    confidence : float
        With which the date is to be met. [-]
    earliest : bool
        The earliest P80 instead, within a mean cost if one is given. Neither: the whole trade-off of both.
    within : float, optional
        Mean cost that the earliest may have. [unit of the scenario]
    matters : float
        Difference of the finish that matters. [d]
    matters_cost : float, optional
        Difference of the cost that matters; one per cent of that of the file if left out.
    sure : float
        Chance with which no set-up beside the choice is better by what matters. [-]
    trials : int
        Of the search at the most; what is chosen is held against its neighbours beyond them.
    fresh : int
        Trials of the choice, and of a neighbour, under draws that had no part in the search; up to eight
        times as many where they leave open what a neighbour does.
    kept : path-like, optional
        A file that takes every trial, from which the same search goes on, and other questions of the scenario
        under the same seed take what they need.
    seed, workers, executor, engine
        As of `forecast`.
    say, on_done : callable
        Told what is being done and what is best so far; told how many trials have just been played.

    Returns
    -------
    Choice
        DataFrames from `frame`, a figure from `plot`, the set-up as `changes`.

    Raises
    ------
    InputError
        For what cannot be run, numbers out of range, decisions that raise a wind limit, and a cost that is
        asked for where the scenario states none.

    Examples
    --------
    >>> from towerpace import choose, load
    >>> hoists = {"key": "resource.hoist.count", "values": [2]}
    >>> tower = load("scenarios/one_hoist/scenario.toml", {"decision.hoists": hoists})
    >>> choice = choose(tower, earliest=True, matters=1, fresh=50)
    >>> choice.changes
    {'resource.hoist.count': 2}
    """
    check_numbers(
        scenario.path,
        {
            "confidence": (confidence, defaults.LEAST_CONFIDENCE, defaults.MOST_CONFIDENCE),
            "within": (within if within is not None else 1.0, 0, None),
            "matters": (matters, defaults.LEAST_MATTERS_DAYS, None),
            "matters_cost": (matters_cost if matters_cost is not None else 1.0, 0, None),
            "sure": (sure, defaults.LEAST_CONFIDENCE, defaults.MOST_CONFIDENCE),
            "trials": (trials, defaults.CHOOSE_LEAST_TRIALS, None),
            "fresh": (fresh, defaults.CHOOSE_LEAST_FRESH, None),
            "seed": (seed, 0, None),
            "workers": (workers, 1, None),
        },
    )
    check_engine(scenario.path, engine)
    goal = _goal(scenario, by=by, confidence=confidence, earliest=earliest, within=within)
    say("decisions")
    ready, opened = prepare(scenario), open_setups(scenario)
    asked = Asked(goal, matters, matters_cost, sure, seed, trials, fresh)
    place = None if kept is None else Path(kept)
    keeping = Kept(place, of={"scenario": scenario.hash, "seed": seed, "version": __version__})
    with played_by(engine):
        # What is compiled, and the draws of the first trials, other processes then have from this one.
        Played(opened, seed=seed, kept=keeping).results([opened.space.standing], [FIRST], fresh=False)
    with played_by(engine), _executor(executor, workers) as (used, window):
        played = Played(opened, seed=seed, kept=keeping, executor=used, window=window, on_done=on_done)
        told = _Told(say, opened.name, played)
        detail = answer_of(opened, ready, asked, trials=played, say=told.doing, on_best=told.best)
    choice = Choice(said(detail), detail)
    choice.kept_in = place
    choice.answer = cut_short(choice.answer, choice.interrupted)
    return choice


class _Told:
    """Says what is done, after how many trials, and what is best so far."""

    def __init__(
        self, say: Callable[[str], None], name: Callable[[tuple[int, ...]], str], played: Played
    ) -> None:
        self._say, self._name, self._played = say, name, played
        self._doing, self._best = "", ""

    def doing(self, what: str) -> None:
        """Say what is being done."""
        self._doing = what
        self._tell()

    def best(self, point: tuple[int, ...], _: object) -> None:
        """Say what is best so far."""
        self._best = f"; best so far: {self._name(point)}"
        self._tell()

    def _tell(self) -> None:
        self._say(f"{self._doing}, {self._played.spent:,} trials{self._best}")


def _goal(
    scenario: Scenario, *, by: datetime.date | None, confidence: float, earliest: bool, within: float | None
) -> Goal | None:
    """What is asked; None for the trade-off. Raises `InputError` for what does not go together."""
    faults = []
    if by is not None and (earliest or within is not None):
        faults.append(
            Fault(scenario.path, None, "by", "a date beside the earliest", "one of the two: by, or earliest")
        )
    if scenario.settings.cost is None and not (earliest and within is None):
        allowed = "[cost] and rates of resources; without them the earliest alone can be chosen"
        faults.append(Fault(scenario.path, None, "cost", "missing", allowed))
    tower = scenario.settings.tower
    last = tower.start + datetime.timedelta(days=tower.horizon_days - 1)
    if by is not None and not tower.start <= by <= last:
        faults.append(Fault(scenario.path, None, "by", f"{by}", f"a date from {tower.start} to {last}"))
    if faults:
        raise InputError(faults)
    if by is not None:
        return Goal(due=Days(scenario.settings).last_minute(by), confidence=confidence)
    return Goal(budget=within) if earliest or within is not None else None


@contextmanager
def _executor(given: Executor | None, workers: int) -> Iterator[tuple[Executor | None, int]]:
    """The executor to use, and how many tasks to have in flight: two a worker, so that none waits."""
    if given is not None:
        yield given, max(IN_FLIGHT, 2 * workers)
    elif workers == 1:
        yield None, 1
    else:
        pool = Processes(workers)
        try:
            yield pool, 2 * workers
        finally:
            pool.shutdown(cancel_futures=True)
