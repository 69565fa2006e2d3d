"""towerpace forecast: the spread of the finish date and of every level's closing-in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.announce import announce
from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.on_cluster import code_when_stopped, players
from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import (
    AsJson,
    Cluster,
    Engine,
    ScenarioPath,
    Seed,
    Trials,
    Workers,
    cores,
    progress,
)
from towerpace.face.defaults import FORECAST_TRIALS, SEED


def command(
    scenario: ScenarioPath,
    setup: Annotated[
        str | None,
        typer.Option(
            "--setup", help="Name of a [setup.NAME], to be played in the place of the file as it is."
        ),
    ] = None,
    trials: Trials = FORECAST_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    engine: Engine = "fastest",
    cluster: Cluster = None,
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
    from towerpace.render.folder import default_folder

    tried(out or (None if as_json else Path("results") / "NEW"))
    loaded = read_scenario(scenario, strict=strict)
    used = workers or min(cores(), trials)
    with players(cluster, workers=used) as (executor, slots):
        announce(loaded, trials=trials, workers=slots)
        with progress(f"{loaded.settings.tower.name}: trials", trials) as on_done:
            result = forecast(
                loaded,
                setup=setup,
                trials=trials,
                seed=seed,
                workers=slots,
                executor=executor,
                engine=engine,
                on_done=on_done,
            )
    folder = out or (None if as_json else default_folder(result.answer.run))
    hand_over(result, as_json=as_json, out=folder, code_when_stopped=code_when_stopped(executor))
