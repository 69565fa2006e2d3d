"""towerpace update: the forecast from what is built."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.record_options import DataDate, EventsFile, Learn, LogFile, Sheet, WindFile
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, Trials, Workers, cores, progress
from towerpace.face.defaults import SEED, UPDATE_TRIALS


def command(
    scenario: ScenarioPath,
    sheet: Sheet,
    log: LogFile = None,
    wind: WindFile = None,
    events: EventsFile = None,
    at: DataDate = None,
    since: Annotated[
        Path | None,
        typer.Option("--since", metavar="RESULTS", help="Results of the last update: what before is."),
    ] = None,
    since_scenario: Annotated[
        Path | None,
        typer.Option(metavar="SCENARIO", help="The scenario as it was then, if it has changed or moved."),
    ] = None,
    baseline: Annotated[
        Path | None,
        typer.Option(metavar="RESULTS", help="Results of baseline: dates to hold the work to."),
    ] = None,
    learn: Learn = "yes",
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
            events=events,
            at=None if at is None else at.date(),
            since=since,
            since_scenario=None if since_scenario is None else read_scenario(since_scenario, strict=False),
            baseline=baseline,
            learn=learn == "yes",
            trials=trials,
            seed=seed,
            workers=workers or min(cores(), trials),
            on_done=on_done,
        )
    hand_over(result, as_json=as_json, out=out)
