"""Why the finish is late, as data for a notebook."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from towerpace.answers.why import explain as answers
from towerpace.face.asked import check_numbers
from towerpace.face.defaults import EXPLAIN_TRIALS, SEED
from towerpace.face.result import Result, grown
from towerpace.scenario.load import Scenario

if TYPE_CHECKING:
    from pandas import DataFrame

    from towerpace.render.figures.forecast import Figure
    from towerpace.render.saved.forecast import Saved

Table = Literal["held", "levels", "pools", "waiting", "unfinished"]
Picture = Literal["held_the_finish", "who_waits_for_what"]
COMMAND = "towerpace.explain"


class Explanation(Result[Table, Picture], answers.Explanation):
    """What held the finish over many trials, with tables and figures.

    Tables: `held` (days of the finish by trade and cause), `levels`, `pools`, `waiting` (who waits for what),
    `unfinished`. Figures: `held_the_finish`, `who_waits_for_what`.
    """

    MAIN = ("held", "held_the_finish")
    BRIEF = ("trade", "cause", "mean_days", "share")

    @cached_property
    def data(self) -> dict[str, Any]:
        """Every number as one JSON object, as `towerpace explain --json` prints it."""
        from towerpace.render.explained_object import as_data

        return as_data(self)

    def save(self, folder: str | os.PathLike[str], *, command: str = COMMAND) -> Path:
        """Write object, tables, figures and manifest, as `towerpace explain --out` does.

        command : what the manifest names as the maker.
        Raises `InputError` if the folder holds something that no run has written.
        """
        from towerpace.render.explained import save_explained

        return save_explained(self.data, self, folder, command=command)

    @cached_property
    def _saved(self) -> Saved:
        from towerpace.render.explained import explained_tables
        from towerpace.render.saved.forecast import Saved
        from towerpace.render.saved.manifest import Run, manifest_of_run

        run = Run(self.ready.scenario, self.ready.tower, self.seed, self.asked, self.trials)
        return Saved(explained_tables(self.data, None), manifest_of_run(run, command=COMMAND, cautions=[]))

    @property
    def _frames(self) -> Mapping[str, DataFrame]:
        return self._saved.tables

    @property
    def _pictures(self) -> Mapping[str, Callable[[], Figure]]:
        from towerpace.render.figures.explained import draw_explained, explained_figures_of

        return {n: partial(draw_explained, n, self._saved) for n in explained_figures_of(self._saved)}

    @property
    def _run(self) -> tuple[str, int]:
        return self.ready.scenario.hash, self.seed

    @property
    def _said(self) -> str:
        first = f"{self.ready.tower.name}: {self.trials} trials, seed {self.seed}"
        if not self.data["trades"]:
            return f"{first}; none finishes inside the horizon"
        most = self.data["trades"][0]
        of = f"of {self.data['mean_finish_days']:.1f} days to the finish"
        return f"{first}; {of} {most['days']:.1f} pass on {most['trade']}"


def explain(
    scenario: Scenario,
    *,
    trials: int = EXPLAIN_TRIALS,
    seed: int = SEED,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Explanation:
    """Play trials and gather their critical chains: what held the finish, and who waits for what.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    trials, seed, workers, executor, on_done
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
    >>> why = explain(load("scenarios/one_hoist/scenario.toml"), trials=10)
    >>> print(why.frame("pools").round(1).to_string(index=False))
           pool  mean_days  share
          hoist        4.3    1.0
     panel_gang        0.3    0.2
    floor_crane        0.3    0.2
    """
    check_numbers(
        scenario.path, {"trials": (trials, 1, None), "seed": (seed, 0, None), "workers": (workers, 1, None)}
    )
    found = answers.explain(
        scenario, trials=trials, seed=seed, workers=workers, executor=executor, on_done=on_done
    )
    return grown(Explanation, found)
