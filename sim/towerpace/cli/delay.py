"""towerpace delay: what the finish would have been without some events."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.record_options import DataDate, Learn, LogFile, Sheet, WindFile
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, Trials, Workers, cores, progress
from towerpace.face.defaults import DELAY_TRIALS, SEED


def command(
    scenario: ScenarioPath,
    sheet: Sheet,
    events: Annotated[Path, typer.Option("--events", metavar="FILE.csv", help="What befell the site.")],
    log: LogFile = None,
    wind: WindFile = None,
    at: DataDate = None,
    period: Annotated[
        Literal["month", "sheet"], typer.Option("--period", help="What ends a period: a month or a sheet.")
    ] = "month",
    learn: Learn = "yes",
    trials: Trials = DELAY_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for its tables and figures.")] = None,
) -> None:
    """Say what events cost: the finish without each, on the same draws, from the record of the site."""
    from towerpace.face.delay import delay

    tried(out)
    loaded = read_scenario(scenario, strict=strict)
    with progress(f"{loaded.settings.tower.name}: trials", trials) as on_done:
        result = delay(
            loaded,
            sheet,
            events,
            log=log,
            wind=wind,
            at=None if at is None else at.date(),
            period=period,
            learn=learn == "yes",
            trials=trials,
            seed=seed,
            workers=workers or min(cores(), trials),
            on_done=on_done,
        )
    hand_over(result, as_json=as_json, out=out)
