"""towerpace sheet: what the foreman is asked at the end of a week."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, say_written, tried
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, Trials, Workers, cores, progress
from towerpace.face.defaults import SEED, SHEET_TRIALS


def command(
    scenario: ScenarioPath,
    date: Annotated[
        datetime,
        typer.Option(
            "--date", formats=["%Y-%m-%d"], help="Day at whose end the state is told; the week ends with it."
        ),
    ],
    reported: Annotated[
        Path | None,
        typer.Option(
            "--progress", metavar="FILE.csv", help="The sheet so far: what it calls done is left out."
        ),
    ] = None,
    trials: Trials = SHEET_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for progress.csv; a page to print stands beside it.")
    ] = None,
) -> None:
    """Print the fronts that may be open in a week, with room for what is done.

    With --out, progress.csv is to be filled in and given back to `update`, and a page to print is written.
    """
    from towerpace.face.report import report
    from towerpace.face.sheet import sheet

    tried(out)
    loaded = read_scenario(scenario, strict=strict)
    with progress(f"{loaded.settings.tower.name}: trials", trials) as on_done:
        result = sheet(
            loaded,
            day=date.date(),
            progress=reported,
            trials=trials,
            seed=seed,
            workers=workers or min(cores(), trials),
            on_done=on_done,
        )
    hand_over(result, as_json=as_json, out=out)
    if out is not None:
        say_written(report(out), "To print", err=as_json)
