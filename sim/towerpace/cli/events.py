"""towerpace events: what happened to every step of some trials, in files."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import tried
from towerpace.cli.terminal import ScenarioPath, Seed, Trials, command_line, progress
from towerpace.face.defaults import EVENTS_TRIALS, SEED


def command(
    scenario: ScenarioPath,
    out: Annotated[Path, typer.Option("--out", help="Folder for the log.")],
    trials: Trials = EVENTS_TRIALS,
    seed: Seed = SEED,
    formats: Annotated[
        list[str] | None,
        typer.Option("--as", help="csv, parquet or xes (IEEE 1849); several allowed, csv by default."),
    ] = None,
    strict: Strict = False,
) -> None:
    """Write what happened to every step of some trials: times, units, and why it waited."""
    from towerpace.face.events import events

    tried(out)
    loaded = read_scenario(scenario, strict=strict)
    log = events(loaded, trials=trials, seed=seed)
    with progress(f"{loaded.settings.tower.name}: trials", trials) as on_done:
        counts = log.save(out, formats=formats or ["csv"], command=command_line(), on_done=on_done)
    most = ", ".join(f"{kind} {n:,}" for kind, n in counts.most_common(4))
    typer.echo(f"{sum(counts.values()):,} events of {trials:,} trials, most of them: {most}.")
    typer.echo(f"Event log: {out}")
