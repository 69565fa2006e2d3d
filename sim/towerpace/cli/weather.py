"""towerpace weather: workable hours by month and level band, the record beside the generator."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, progress
from towerpace.face.defaults import SEED, WEATHER_BANDS, WEATHER_YEARS


def command(
    scenario: ScenarioPath,
    trials: Annotated[int, typer.Option("--trials", min=1, help="Generated years.")] = WEATHER_YEARS,
    seed: Seed = SEED,
    bands: Annotated[int, typer.Option("--bands", min=1, help="Bands of levels.")] = WEATHER_BANDS,
    calm: Annotated[
        list[float] | None,
        typer.Option("--calm", help="Also: days with so many clear hours in a row; may be repeated."),
    ] = None,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for its tables.")] = None,
) -> None:
    """Print the workable hours of every operation under weather limits, month by month."""
    from towerpace.face.weather import weather

    tried(out)
    loaded = read_scenario(scenario, strict=strict)
    with progress("generated years", trials) as on_done:
        result = weather(loaded, trials=trials, seed=seed, bands=bands, clear_h=calm or (), on_done=on_done)
    hand_over(result, as_json=as_json, out=out)
