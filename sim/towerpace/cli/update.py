"""towerpace update: the forecast from what is built."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated, Literal

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, Trials, Workers, cores, progress
from towerpace.face.defaults import SEED, UPDATE_TRIALS


def command(
    scenario: ScenarioPath,
    sheet: Annotated[Path, typer.Option("--progress", metavar="FILE.csv", help="The sheet of progress.")],
    log: Annotated[
        Path | None, typer.Option("--log", metavar="FILE.csv", help="The log of the site.")
    ] = None,
    wind: Annotated[
        Path | None, typer.Option("--wind", metavar="FILE.csv", help="Hours measured on the site.")
    ] = None,
    at: Annotated[
        datetime | None,
        typer.Option("--at", formats=["%Y-%m-%d"], help="The data date; by default the last of the sheet."),
    ] = None,
    since: Annotated[
        Path | None,
        typer.Option("--since", metavar="RESULTS", help="Results of the last update: what before is."),
    ] = None,
    learn: Annotated[
        Literal["yes", "no"], typer.Option("--learn", help="Whether paces are learned.")
    ] = "yes",
    trials: Trials = UPDATE_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for its tables and figures.")] = None,
) -> None:
    """Forecast from progress: before and now, what moved it, what the site has shown, and the trend."""
    from towerpace.face.update import update

    tried(out)
    loaded = read_scenario(scenario, strict=strict)
    with progress(f"{loaded.settings.tower.name}: trials", trials) as on_done:
        result = update(
            loaded,
            sheet,
            log=log,
            wind=wind,
            at=None if at is None else at.date(),
            since=since,
            learn=learn == "yes",
            trials=trials,
            seed=seed,
            workers=workers or min(cores(), trials),
            on_done=on_done,
        )
    hand_over(result, as_json=as_json, out=out)
