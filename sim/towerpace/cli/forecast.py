"""towerpace forecast: the spread of the finish date and of every level's closing-in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.terminal import (
    AsJson,
    ScenarioPath,
    Seed,
    Trials,
    Workers,
    command_line,
    cores,
    print_json,
    progress,
)
from towerpace.face.defaults import FORECAST_TRIALS, SEED


def command(
    scenario: ScenarioPath,
    trials: Trials = FORECAST_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", help="Folder for tables and figures; by default one under results/, none with --json."
        ),
    ] = None,
) -> None:
    """Play trials and print what the finish date is worth, with tables and figures in a results folder.

    Ctrl-C keeps and reports the trials that are done.
    """
    from towerpace.face.forecast import forecast
    from towerpace.render.folder import check_folder, default_folder

    if out is not None:
        check_folder(out)
    loaded = read_scenario(scenario, strict=strict)
    with progress(f"{loaded.settings.tower.name}: trials", trials) as on_done:
        result = forecast(
            loaded, trials=trials, seed=seed, workers=workers or min(cores(), trials), on_done=on_done
        )
    if as_json:
        from towerpace.cli.forecast_json import as_data

        print_json(as_data(result))
    else:
        from towerpace.cli.forecast_text import show

        show(result)
    if out is not None or not as_json:
        folder = result.save(out or default_folder(result), command=command_line())
        if not as_json:
            typer.echo(f"\nTables and figures: {folder}")
