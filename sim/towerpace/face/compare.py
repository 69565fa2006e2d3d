"""Set-ups against a base on the same draws, as data for a notebook."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from towerpace.answers.choice import compare as answers
from towerpace.answers.choice.chosen import Wanted, chosen
from towerpace.answers.forecast import iso
from towerpace.face.asked import check_name, check_numbers
from towerpace.face.defaults import COMPARE_TRIALS, SEED
from towerpace.face.forecast import Forecast
from towerpace.face.result import Result, grown
from towerpace.scenario.load import Scenario

if TYPE_CHECKING:
    from pandas import DataFrame

    from towerpace.render.figures.forecast import Figure
    from towerpace.render.saved.forecast import Saved

Table = Literal["setups", "paired", "contracts", "ledger_changes"]
Picture = Literal["finish_curves", "paired_differences", "cost_against_p80"]
COMMAND = "towerpace.compare"


@dataclass(frozen=True, repr=False)
class Comparison(Result[Table, Picture]):
    """Set-ups on the same draws, the base first, with tables and figures.

    Tables: `setups` (a row a set-up, with the paired differences and their intervals), `paired` (a row a
    set-up and trial), `contracts`, `ledger_changes` (the largest, in hours). Figures: `finish_curves`,
    `paired_differences`, and where costs are stated `cost_against_p80`. Differences are set-up less base.
    """

    setups: tuple[answers.Compared, ...]
    seed: int

    MAIN = ("setups", "paired_differences")
    BRIEF = ("setup", "p50_date", "p80_date", "diff_days", "diff_low", "diff_high", "mean_cost", "unit")

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the set-ups, the base first."""
        return tuple(one.setup.name for one in self.setups)

    def forecast(self, name: str) -> Forecast:
        """The forecast of one set-up; raises `InputError` for a name that is not there."""
        check_name(name, self.names, of="Comparison", what="forecast")
        return grown(Forecast, self.setups[self.names.index(name)].forecast)

    @cached_property
    def data(self) -> dict[str, Any]:
        """Every number as one JSON object, as `towerpace compare --json` prints it."""
        from towerpace.render.compared_object import as_data

        return as_data(self.setups, seed=self.seed)

    def save(self, folder: str | os.PathLike[str], *, command: str = COMMAND) -> Path:
        """Write object, tables, figures and manifest, as `towerpace compare --out` does.

        command : what the manifest names as the maker.
        Raises `InputError` if the folder holds something that no run has written.
        """
        from towerpace.render.compared import save_compared

        return save_compared(self.data, self.setups, folder, command=command)

    @cached_property
    def _saved(self) -> Saved:
        from towerpace.render.compared import compared_tables
        from towerpace.render.saved.forecast import Saved
        from towerpace.render.saved.manifest import manifest_of

        manifest = manifest_of(self.setups[0].forecast, command=COMMAND)
        return Saved(compared_tables(self.data, self.setups), manifest)

    @property
    def _frames(self) -> Mapping[str, DataFrame]:
        return self._saved.tables

    @property
    def _pictures(self) -> Mapping[str, Callable[[], Figure]]:
        from towerpace.render.figures.compared import compared_figures_of, draw_compared

        return {name: partial(draw_compared, name, self._saved) for name in compared_figures_of(self._saved)}

    @property
    def _run(self) -> tuple[str, int]:
        return self.setups[0].forecast.scenario.hash, self.seed

    @property
    def _said(self) -> str:
        base = self.setups[0].forecast
        of = f"{base.tower.name}: {len(self.setups)} set-ups on the same {base.trials} draws"
        late = [f"{one.setup.name} {_p80(one)}" for one in self.setups]
        return f"{of}, seed {self.seed}; P80 {', '.join(late)}"


def _p80(one: answers.Compared) -> str:
    return iso(one.forecast.days, one.forecast.finish_at(0.8).value) or "beyond the horizon"


def compare(
    scenario: Scenario,
    setups: Wanted | None = None,
    *,
    trials: int = COMPARE_TRIALS,
    seed: int = SEED,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Comparison:
    """Forecast set-ups on the same draws: what each gains against the scenario as it is.

    Parameters
    ----------
    scenario : Scenario
        The base, from `load`.
    setups : str, sequence or mapping, optional
        Names of [setup.NAME] or [candidate.NAME], or files that end in .toml; or a mapping from names of your
        own to dotted keys with new values, or to other scenarios. All [setup.NAME] if left out.
    trials, seed, workers, executor, on_done
        As of `forecast`; trials are of each set-up.

    Returns
    -------
    Comparison
        DataFrames from `frame`, figures from `plot`.

    Raises
    ------
    InputError
        For what cannot be run, numbers out of range, or nothing to compare.

    Examples
    --------
    >>> from towerpace import compare, load
    >>> tower = load("scenarios/one_hoist/scenario.toml")
    >>> found = compare(tower, {"two hoists": {"resource.hoist.count": 2}}, trials=10)
    >>> found.names
    ('base', 'two hoists')
    >>> gains = found.frame("setups")[["setup", "p80_date", "diff_days"]]
    >>> print(gains.to_string(index=False, float_format="%.1f"))
         setup   p80_date  diff_days
          base 2027-03-25        NaN
    two hoists 2027-03-24       -1.4
    """
    check_numbers(
        scenario.path, {"trials": (trials, 1, None), "seed": (seed, 0, None), "workers": (workers, 1, None)}
    )
    found = answers.compare(
        chosen(scenario, setups),
        trials=trials,
        seed=seed,
        workers=workers,
        executor=executor,
        on_done=on_done,
    )
    return Comparison(tuple(found), seed)
