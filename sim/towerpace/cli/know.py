"""towerpace know: what it is worth to know a number before choosing between set-ups."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from towerpace.cli.announce import announce
from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import AsJson, Engine, ScenarioPath, Seed, Trials, Workers, cores, progress
from towerpace.face.defaults import COMPARE_TRIALS, SEED


def command(
    scenario: ScenarioPath,
    setups: Annotated[
        list[str],
        typer.Option(
            "--setup", help="A choice: name of a [setup.NAME], or a scenario file; several allowed."
        ),
    ],
    by: Annotated[
        Literal["money", "days"] | None,
        typer.Option("--by", help="What a choice loses; money where costs are stated, else days."),
    ] = None,
    trials: Trials = COMPARE_TRIALS,
    seed: Seed = SEED,
    workers: Workers = None,
    engine: Engine = "fastest",
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for tables and figures.")] = None,
) -> None:
    """Say which uncertain number, if known first, would change the choice, and what that is worth."""
    from towerpace.answers.choice.chosen import chosen
    from towerpace.face.know import know

    tried(out)
    base = read_scenario(scenario, strict=strict)
    _, *others = chosen(base, setups)
    count = 1 + len(others)
    announce(base, trials=trials * count, workers=workers or min(cores(), trials))
    with progress("choices: trials", trials * count) as on_done:
        result = know(
            base,
            others,
            by=by,
            trials=trials,
            seed=seed,
            workers=workers or min(cores(), trials),
            engine=engine,
            on_done=on_done,
        )
    hand_over(result, as_json=as_json, out=out)
