"""What a stated duration is worth: the answer for a board and a client."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence

from towerpace.answers.bid import bid as answers
from towerpace.answers.bid.bid_said import BID_FIGURES, BID_TABLES, said
from towerpace.answers.bid.question import Question
from towerpace.answers.cautions import raised_banners
from towerpace.engine.names import EngineName, played_by
from towerpace.face.asked import check_engine, check_numbers
from towerpace.face.defaults import BID_TRIALS, SEED
from towerpace.face.result import Result, cut_short, explained
from towerpace.face.screening import Screen
from towerpace.scenario.load import Scenario


@explained(BID_TABLES, figures=BID_FIGURES)
class Bid(Result[answers.Bid]):
    """What a duration is worth, what each confidence needs, and what drives it."""

    @property
    def interrupted(self) -> str:
        """What Ctrl-C cut short, in words; "" of a whole answer."""
        return _unfinished(self.detail)


def bid(
    scenario: Scenario,
    *,
    days: int | None = None,
    date: datetime.date | None = None,
    confidence: float | None = None,
    trials: int = BID_TRIALS,
    seed: int = SEED,
    sources: bool = True,
    second_seed: bool = True,
    variants: bool = True,
    shapley: int = 0,
    swing_trials: int = 40,
    years: int = 200,
    vary: Sequence[str] = (),
    morris: int = 0,
    sobol: int = 0,
    point_trials: int = 20,
    monthly: bool = False,
    workers: int = 1,
    engine: EngineName = "fastest",
    cost: Callable[[dict[str, int]], None] = lambda _: None,
    say: Callable[[str], None] = lambda _: None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Bid:
    """Defend a duration: its chance, what each confidence needs, contingency by source, drivers, allowance.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    days, date, confidence : int, date, float, optional
        At most one: working days from the start, a last day, or a confidence between 0 and 1.
    trials, seed : int
        Of the forecast, and of every source of spread.
    sources, second_seed : bool
        Whether contingency is split by source, and whether a second seed is played.
    variants : bool
        Whether other assumptions are tried: responses to risks, paces together, windier and other years.
    shapley : int
        Orders of the sources that are sampled for the mean share of each; 0 for none.
    swing_trials : int
        Trials of each number at each of its ends; 0 leaves them out.
    years : int
        Years of weather for the allowance; 0 leaves it out.
    vary : sequence of str
        KEY=LOW:HIGH for screening; every spread at P10 to P90 if empty.
    morris, sobol : int
        Trajectories of a Morris screening, base size of Sobol indices, a power of 2; 0 for none (SALib).
    point_trials : int
        Trials of each point of a screening.
    monthly : bool
        Whether a terminal shows the allowance of every month.
    workers, engine : int, str
        Processes, and what plays the trials, as of `forecast`; the numbers depend on neither.
    cost, say, on_done : callable
        Told the trials of each part before the first is played, what is being played, and how many trials
        have just been finished.

    Returns
    -------
    Bid
        DataFrames from `frame`, a figure from `plot`, estimates in `detail`.

    Raises
    ------
    InputError
        For what cannot be run, or a date or number of days outside the horizon.
    KeyboardInterrupt
        Before the first trial is finished; later, Ctrl-C leaves out the parts that are not finished.

    Examples
    --------
    >>> from towerpace import bid, load
    >>> tower = load("scenarios/one_trade/scenario.toml")
    >>> print(bid(tower, days=23, trials=40, sources=False, swing_trials=0).answer.said)
    The chance of finishing within 23 working days, that is by Wed 31 Mar 2027, is ...
    """
    check_numbers(
        scenario.path,
        {
            "trials": (trials, 1, None),
            "seed": (seed, 0, None),
            "swing_trials": (swing_trials, 0, None),
            "shapley": (shapley, 0, None),
            "years": (years, 0, None),
            "point_trials": (point_trials, 1, None),
            "workers": (workers, 1, None),
        },
    )
    check_engine(scenario.path, engine)
    screen = Screen(scenario, vary=vary, morris=morris, sobol=sobol, trials=point_trials, seed=seed)
    extent = answers.Extent(trials, seed, swing_trials, years, sources, second_seed, shapley, variants)
    question = Question(days, date, confidence)
    hearers = answers.Hearers(lambda parts: cost({**parts, **screen.cost()}), say, on_done)
    with played_by(engine):
        played = answers.bid(scenario, question, extent, workers=workers, hearers=hearers)
        if not played.missing:
            played = screen.added_to(played, workers=workers, hearers=hearers)
    answer = said(played, monthly=monthly, banners=raised_banners(scenario, screen.ends))
    return Bid(cut_short(answer, _unfinished(played)), played)


def _unfinished(played: answers.Bid) -> str:
    own = played.forecast
    of = f"{own.trials:,} of {own.asked:,} trials of the forecast were played"
    return f"{of}; not played: {', '.join(played.missing)}" if played.missing else ""
