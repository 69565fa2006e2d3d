"""towerpace use: how busy every resource is, what is scarce when, and where the panels stand."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.announce import announce
from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, Trials, Workers, cores, progress
from towerpace.face.defaults import SEED, USE_TRIALS


def command(
    scenario: ScenarioPath,
    trials: Trials = USE_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for its tables and figures.")] = None,
) -> None:
    """Print how busy every resource is, which one is scarce in which week, and where the panels stand."""
    from towerpace.face.use import use

    tried(out)
    loaded = read_scenario(scenario, strict=strict)
    at_most = workers or min(cores(), trials)
    announce(loaded, trials=trials, workers=at_most)
    with progress(f"{loaded.settings.tower.name}: trials", trials) as on_done:
        result = use(loaded, trials=trials, seed=seed, workers=at_most, on_done=on_done)
    hand_over(result, as_json=as_json, out=out)
