"""towerpace check: validate a scenario and say what it is, before any trial."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from towerpace.cli.announce import announce_check
from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import AsJson, ScenarioPath, Seed, progress
from towerpace.face.defaults import SEED

if TYPE_CHECKING:
    from towerpace.scenario.load import Scenario


def command(
    scenario: ScenarioPath,
    engines: Annotated[
        int | None,
        typer.Option("--engines", min=1, help="Play so many trials on both engines and compare them."),
    ] = None,
    seed: Seed = SEED,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for its tables.")] = None,
) -> None:
    """Check a scenario and print its size, its dates if all goes as planned, and what lacks a source."""
    from towerpace.face.check import check

    tried(out)
    loaded = read_scenario(scenario, strict=strict, say=False)
    announce_check(loaded)
    if engines is None:
        hand_over(check(loaded, strict=strict), as_json=as_json, out=out)
    else:
        _compare_engines(loaded, trials=engines, seed=seed)


def _compare_engines(scenario: Scenario, *, trials: int, seed: int) -> None:
    """Say that both engines give the same diaries, or exit 1 with the first difference."""
    from towerpace.answers.engines import first_difference
    from towerpace.answers.prepare import prepare
    from towerpace.engine.fastest import WITHOUT
    from towerpace.engine.kernel import available

    ready = prepare(scenario)
    if not available():
        typer.echo(WITHOUT, err=True)
    with progress("both engines: trials", trials) as on_done:
        difference = first_difference(ready, trials=trials, seed=seed, on_done=on_done)
    if difference is not None:
        typer.echo(f"The engines differ. {difference}", err=True)
        raise typer.Exit(1)
    name, steps = ready.tower.name, ready.tower.plan.n
    typer.echo(f"{name}: both engines wrote the same diary of {steps:,} steps in {trials} trials")
