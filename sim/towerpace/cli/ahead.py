"""towerpace ahead: what lies in the weeks ahead, what must be there, and what promises are worth."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, say_written, tried
from towerpace.cli.record_options import DataDate, EventsFile, Learn, LogFile, Sheet, WindFile
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, Trials, Workers, cores, progress
from towerpace.face.defaults import AHEAD_TRIALS, AHEAD_WEEKS, SEED


def command(
    scenario: ScenarioPath,
    sheet: Sheet,
    log: LogFile = None,
    wind: WindFile = None,
    events: EventsFile = None,
    weeks: Annotated[int, typer.Option("--weeks", help="How far to look.")] = AHEAD_WEEKS,
    weather: Annotated[
        Path | None,
        typer.Option("--weather", metavar="FILE.csv", help="Forecast of the hours to come, or an ensemble."),
    ] = None,
    promises: Annotated[
        Path | None, typer.Option("--promises", metavar="FILE.csv", help="What was promised, and by when.")
    ] = None,
    at: DataDate = None,
    learn: Learn = "yes",
    trials: Trials = AHEAD_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[
        Path | None,
        typer.Option("--out", help="Folder for its tables; report, sheet to print and calendar beside it."),
    ] = None,
) -> None:
    """Look some weeks ahead: panels a week, what must be there and by when, what promises are worth."""
    from towerpace.face.ahead import ahead
    from towerpace.face.report import report

    tried(out)
    loaded = read_scenario(scenario, strict=strict)
    with progress(f"{loaded.settings.tower.name}: trials", trials) as on_done:
        result = ahead(
            loaded,
            sheet,
            weeks=weeks,
            log=log,
            wind=wind,
            events=events,
            at=None if at is None else at.date(),
            weather=weather,
            promises=promises,
            learn=learn == "yes",
            trials=trials,
            seed=seed,
            workers=workers or min(cores(), trials),
            on_done=on_done,
        )
    hand_over(result, as_json=as_json, out=out)
    if out is not None:
        sheet = out.with_name(f"{out.name}-meeting.html")
        written = report(out, ics=out.with_suffix(".ics"), sheet=sheet)
        say_written(written, "To print and to book", err=as_json)
