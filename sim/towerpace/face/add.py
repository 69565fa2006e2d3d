"""Which resource to add, as data for a notebook."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from contextlib import nullcontext
from dataclasses import dataclass
from functools import cached_property, partial
from typing import TYPE_CHECKING, Literal

from towerpace import __version__
from towerpace.answers.choice import add as answers
from towerpace.answers.choice.lab import Lab, processes
from towerpace.face import defaults
from towerpace.face.asked import check_numbers
from towerpace.face.result import Result, grown
from towerpace.scenario.load import Scenario

if TYPE_CHECKING:
    from pandas import DataFrame

    from towerpace.render.figures.forecast import Figure

Table = Literal["ranking", "path"]
Picture = Literal["gains"]


@dataclass(frozen=True, repr=False)
class Advice(Result[Table, Picture], answers.Advice):
    """What to add first, and then, with tables and a figure.

    Tables: `ranking` (a row an addition, best first), `path` (one after the other). Figure: `gains`.
    Differences are with the addition less without: negative days are earlier, negative money is cheaper.
    """

    seed: int

    MAIN = ("ranking", "gains")
    BRIEF = ("resource", "change", "diff_days", "diff_low", "diff_high", "diff_cost", "trials", "verdict")

    @cached_property
    def _frames(self) -> Mapping[str, DataFrame]:
        from towerpace.render.added import added_tables

        return added_tables(self, seed=self.seed)

    @property
    def _pictures(self) -> Mapping[str, Callable[[], Figure]]:
        from towerpace.render.figures.added import draw_gains

        return {"gains": partial(draw_gains, self._frames["ranking"], run=self._run_text)}

    @property
    def _run_text(self) -> str:
        name, digest = self.base.scenario.settings.tower.name, self.base.scenario.hash[:12]
        used = f"{self.trials_used:,} trials used"
        return f"{name} · scenario {digest} · seed {self.seed} · {used} · towerpace {__version__}"

    @property
    def _run(self) -> tuple[str, int]:
        return self.base.scenario.hash, self.seed

    @property
    def _said(self) -> str:
        from towerpace.render.added import name_of

        options = [stride.ranked.option for stride in self.path]
        named = [name_of(one.resource, one.change) for one in options]
        name = self.base.scenario.settings.tower.name
        first = f"add {', then '.join(named)}; after that " if named else ""
        return f"{name}, seed {self.seed}: {first}{self.stopped}"


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
    say: Callable[[str], None] = lambda _: None,
) -> Advice:
    """Rank one more and one less of every resource, and give the path of additions that help.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    matters : float
        Difference of the finish that matters. [d]
    confidence : float
        That the first named of a round is the best of it. [-]
    trials : int
        Of one set-up at the most; it stops as soon as the choice is settled.
    steps : int
        Additions of the path at the most.
    seed, workers, executor
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
    >>> ranking = advice.frame("ranking")[["resource", "change", "diff_days", "verdict"]]
    >>> print(ranking.round(1).to_string(index=False))
       resource change  diff_days                   verdict
          hoist     +1       -1.4 best with 90 % confidence
     panel_gang     +1        0.0                   no gain
    floor_crane     +1        0.0                   no gain
            bay     +1        0.0                   no gain
     panel_gang     -1       12.7                    needed
    floor_crane     -1       12.8                    needed
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
    rules = answers.Rules(zone_days=matters, confidence=confidence, most=trials, steps=steps)
    with processes(workers) if executor is None else nullcontext(executor) as pool:
        lab = Lab(seed, executor=pool)
        found = answers.add(
            scenario,
            lab=lab,
            seed=seed,
            rules=rules,
            say=lambda what: say(f"{what} ({lab.spent} trials so far)"),
        )
    return grown(Advice, found, seed=seed)
