"""Set-ups against a base on the same draws: what each gains."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor

from towerpace.answers.choice import compare as answers
from towerpace.answers.choice.chosen import Wanted, chosen
from towerpace.answers.choice.compare_said import COMPARE_FIGURES, said
from towerpace.answers.choice.compare_tables import COMPARE_TABLES
from towerpace.answers.forecast_said import said as forecast_said
from towerpace.engine.names import EngineName, played_by
from towerpace.face.asked import check_engine, check_name, check_numbers
from towerpace.face.defaults import COMPARE_TRIALS, SEED
from towerpace.face.forecast import Forecast
from towerpace.face.result import Result, cut_short, explained
from towerpace.scenario.load import Scenario


@explained(COMPARE_TABLES, figures=COMPARE_FIGURES)
class Comparison(Result[Sequence[answers.Compared]]):
    """Set-ups on the same draws, the base first; differences are set-up less base.

    left_out : names of set-ups that were not played, after Ctrl-C.
    """

    left_out: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the set-ups, the base first."""
        return tuple(variant.setup.name for variant in self.detail)

    @property
    def interrupted(self) -> str:
        """What Ctrl-C cut short, in words; "" of a whole answer."""
        last = self.detail[-1].forecast
        left = f"; not played: {', '.join(self.left_out)}" if self.left_out else ""
        of = f"of {self.names[-1]} {last.trials:,} of {last.asked:,} trials were played"
        return f"{of}{left}" if left or last.trials < last.asked else ""

    def forecast(self, name: str) -> Forecast:
        """The forecast of one set-up; raises `InputError` for a name that is not there."""
        check_name(name, self.names, of="Comparison", what="forecast")
        own = self.detail[self.names.index(name)].forecast
        return Forecast(forecast_said(own), own)


def compare(
    scenario: Scenario,
    setups: Wanted | None = None,
    *,
    trials: int = COMPARE_TRIALS,
    seed: int = SEED,
    workers: int = 1,
    executor: Executor | None = None,
    engine: EngineName = "fastest",
    on_done: Callable[[int], None] = lambda _: None,
) -> Comparison:
    """Forecast set-ups on the same draws: what each gains against the scenario as it is, and why.

    Parameters
    ----------
    scenario : Scenario
        The base, from `load`.
    setups : str, sequence or mapping, optional
        Names of [setup.NAME] or [candidate.NAME], or files that end in .toml; or a mapping from names of your
        own to dotted keys with new values, or to other scenarios. All [setup.NAME] if left out.
    trials : int
        Of each set-up.
    seed, workers, executor, engine, on_done
        As of `forecast`.

    Returns
    -------
    Comparison
        DataFrames from `frame`, figures from `plot`, the forecast of each set-up from `forecast`.

    Raises
    ------
    InputError
        For what cannot be run, numbers out of range, or nothing to compare.

    Examples
    --------
    >>> from towerpace import compare, load
    >>> tower = load("scenarios/one_hoist/scenario.toml")
    >>> result = compare(tower, {"two hoists": {"resource.hoist.count": 2}}, trials=10)
    >>> result
    <Comparison: 'two hoists' finishes 1.4 days earlier than the base on average (95 % ...
    >>> gains = result.frame("differences")[["setup", "diff_days", "diff_days_low", "diff_days_high"]]
    >>> print(gains.to_string(index=False, float_format="%.1f"))
         setup  diff_days  diff_days_low  diff_days_high
    two hoists       -1.4           -1.7            -1.1
    """
    check_numbers(
        scenario.path, {"trials": (trials, 1, None), "seed": (seed, 0, None), "workers": (workers, 1, None)}
    )
    check_engine(scenario.path, engine)
    wanted = chosen(scenario, setups)
    with played_by(engine):
        compared = answers.compare(
            wanted, trials=trials, seed=seed, workers=workers, executor=executor, on_done=on_done
        )
    result = Comparison(said(compared), compared)
    result.left_out = tuple(setup.name for setup in wanted[len(compared) :])
    result.answer = cut_short(result.answer, result.interrupted)
    return result
