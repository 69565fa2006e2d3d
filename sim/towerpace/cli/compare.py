"""towerpace compare: set-ups against the base on the same draws."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.announce import announce
from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import AsJson, Engine, ScenarioPath, Seed, Trials, Workers, cores, progress
from towerpace.face.defaults import COMPARE_TRIALS, SEED


def command(
    scenario: ScenarioPath,
    setups: Annotated[
        list[str] | None,
        typer.Option(
            "--setup", help="Name of a [setup.NAME], or a scenario file; several allowed, all by default."
        ),
    ] = None,
    trials: Trials = COMPARE_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    engine: Engine = "fastest",
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for tables and figures.")] = None,
) -> None:
    """Forecast every set-up on the same draws and print what each gains against the base."""
    from towerpace.answers.choice.chosen import chosen
    from towerpace.face.compare import compare

    tried(out)
    base = read_scenario(scenario, strict=strict)
    _, *others = chosen(base, setups or None)
    count = 1 + len(others)
    announce(base, trials=trials * count, workers=workers or min(cores(), trials))
    with progress("set-ups: trials", trials * count) as on_done:
        result = compare(
            base,
            others,
            trials=trials,
            seed=seed,
            workers=workers or min(cores(), trials),
            engine=engine,
            on_done=on_done,
        )
    hand_over(result, as_json=as_json, out=out)
