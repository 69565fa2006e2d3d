"""towerpace add: which resource to add, what it buys, and what to add after it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import AsJson, Engine, ScenarioPath, Seed, Workers, cores, spinner
from towerpace.face import defaults


def command(
    scenario: ScenarioPath,
    matters: Annotated[
        float,
        typer.Option("--matters", min=defaults.LEAST_MATTERS_DAYS, help="Days of the finish that matter."),
    ] = defaults.MATTERS_DAYS,
    confidence: Annotated[
        float,
        typer.Option(
            "--confidence",
            min=defaults.LEAST_CONFIDENCE,
            max=defaults.MOST_CONFIDENCE,
            help="In the first named.",
        ),
    ] = defaults.ADD_CONFIDENCE,
    most: Annotated[
        int,
        typer.Option("--trials", min=defaults.ADD_LEAST_TRIALS, help="Trials of one set-up at the most."),
    ] = defaults.ADD_TRIALS,
    steps: Annotated[
        int, typer.Option("--steps", min=1, help="Additions of the path at the most.")
    ] = defaults.ADD_STEPS,
    seed: Seed = defaults.SEED,
    workers: Workers = None,
    engine: Engine = "fastest",
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for tables and figures.")] = None,
) -> None:
    """Rank one more and one less of every resource, then pairs, and give the path of additions."""
    from towerpace.face.add import add

    tried(out)
    base = read_scenario(scenario, strict=strict)
    with spinner() as say:
        result = add(
            base,
            matters=matters,
            confidence=confidence,
            trials=most,
            steps=steps,
            seed=seed,
            workers=workers or cores(),
            engine=engine,
            say=say,
        )
    hand_over(result, as_json=as_json, out=out)
