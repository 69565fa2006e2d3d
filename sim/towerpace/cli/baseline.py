"""towerpace baseline: dates to hold the work to, with float, logic and the chance of keeping all."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.announce import announce
from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, Trials, Workers, cores, progress
from towerpace.face.defaults import BASELINE_AT, BASELINE_TRIALS, SEED


def command(
    scenario: ScenarioPath,
    at: Annotated[float, typer.Option("--at", help="Confidence of each date by itself.")] = BASELINE_AT,
    dates: Annotated[
        Path | None,
        typer.Option("--dates", help="Your own dates instead: a CSV file with what, level, zone, done."),
    ] = None,
    trials: Trials = BASELINE_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for its tables and figures.")] = None,
    graphml: Annotated[
        Path | None, typer.Option("--graphml", help="Also write the network to this file, as GraphML.")
    ] = None,
) -> None:
    """Print dates of every work area and activity, their float, and the chance of keeping all of them."""
    from towerpace.face.baseline import baseline

    tried(out)
    loaded = read_scenario(scenario, strict=strict)
    at_most = workers or min(cores(), trials)
    announce(loaded, trials=trials, workers=at_most)
    with progress(f"{loaded.settings.tower.name}: trials", trials) as on_done:
        result = baseline(
            loaded, at=at, dates=dates, trials=trials, seed=seed, workers=at_most, on_done=on_done
        )
    if graphml is not None:
        result.write_network(graphml)
    hand_over(result, as_json=as_json, out=out)
