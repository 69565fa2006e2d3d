"""towerpace bid: what a stated duration is worth, and what stands behind it."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towerpace.cli.announce import announce
from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import AsJson, Engine, ScenarioPath, Seed, Trials, Workers, cores, spinner
from towerpace.face.defaults import BID_TRIALS, SEED

if TYPE_CHECKING:
    from towerpace.scenario import Scenario


def command(
    scenario: ScenarioPath,
    days: Annotated[
        int | None, typer.Option("--days", min=1, help="Working days from the start: what are they worth?")
    ] = None,
    date: Annotated[
        datetime | None,
        typer.Option("--date", formats=["%Y-%m-%d"], help="Last day: what is it worth?"),
    ] = None,
    confidence: Annotated[
        float | None,
        typer.Option("--confidence", min=0.01, max=0.99, help="As 0.8: what duration does it need?"),
    ] = None,
    trials: Trials = BID_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    engine: Engine = "fastest",
    sources: Annotated[
        bool, typer.Option(help="Split the contingency by source; every source is played twice.")
    ] = True,
    second_seed: Annotated[bool, typer.Option(help="Ask a second seed too.")] = True,
    variants: Annotated[
        bool,
        typer.Option(help="Try responses to risks, other links of paces, windier and other years."),
    ] = True,
    shapley: Annotated[
        int, typer.Option("--shapley", min=0, help="Orders of sources to sample for their shares.")
    ] = 0,
    swing_trials: Annotated[
        int,
        typer.Option("--swing-trials", min=0, help="Trials of each number at each end; 0 leaves them out."),
    ] = 40,
    years: Annotated[
        int, typer.Option("--years", min=0, help="Years of weather for the allowance; 0 leaves it out.")
    ] = 200,
    allowance: Annotated[
        bool, typer.Option("--allowance", help="Print the weather allowance month by month.")
    ] = False,
    vary: Annotated[
        list[str] | None,
        typer.Option("--vary", help="KEY=LOW:HIGH for screening; every spread at P10 to P90 by default."),
    ] = None,
    morris: Annotated[
        int, typer.Option("--morris", min=0, help="Trajectories of a Morris screening (SALib).")
    ] = 0,
    sobol: Annotated[
        int, typer.Option("--sobol", min=0, help="Base size of Sobol indices, a power of 2 (SALib).")
    ] = 0,
    point_trials: Annotated[
        int, typer.Option("--point-trials", min=1, help="Trials of each point of a screening.")
    ] = 20,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for tables and figures.")] = None,
) -> None:
    """Say what a duration is worth, what each confidence needs, and what drives it."""
    from towerpace.face.bid import bid

    tried(out)
    loaded = read_scenario(scenario, strict=strict)
    used = workers or min(cores(), trials)
    with spinner() as say:
        teller = _Teller(say)
        result = bid(
            loaded,
            days=days,
            date=None if date is None else date.date(),
            confidence=confidence,
            trials=trials,
            seed=seed,
            sources=sources,
            second_seed=second_seed,
            variants=variants,
            shapley=shapley,
            swing_trials=swing_trials,
            years=years,
            vary=vary or (),
            morris=morris,
            sobol=sobol,
            point_trials=point_trials,
            monthly=allowance,
            workers=used,
            engine=engine,
            cost=lambda parts: _say_cost(loaded, parts, used),
            say=teller.say,
            on_done=teller.done,
        )
    hand_over(result, as_json=as_json, out=out)


def _say_cost(scenario: Scenario, parts: dict[str, int], workers: int) -> None:
    typer.echo(_cost(parts), err=True)
    announce(scenario, trials=sum(parts.values()), workers=workers)


def _cost(parts: dict[str, int]) -> str:
    words = ", ".join(f"{name} {trials:,}" for name, trials in parts.items())
    return f"{sum(parts.values()):,} trials to play: {words}"


class _Teller:
    """Says on one line what is being played and how many trials are done."""

    def __init__(self, update: Any) -> None:
        self._update, self._what, self._done = update, "", 0

    def say(self, what: str) -> None:
        self._what = what
        self.done(0)

    def done(self, trials: int) -> None:
        self._done += trials
        self._update(f"{self._what} ({self._done:,} trials so far)")
