"""towerpace rates: a site's log as spreads for the next bid."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.loading import Strict, read_scenario
from towerpace.cli.output import hand_over, tried
from towerpace.cli.record_options import DataDate, WindFile
from towerpace.cli.terminal import AsJson, ScenarioPath


def command(
    scenario: ScenarioPath,
    log: Annotated[Path, typer.Option("--log", metavar="FILE.csv", help="The log of the site.")],
    reported: Annotated[
        Path | None, typer.Option("--progress", metavar="FILE.csv", help="The sheet of progress.")
    ] = None,
    wind: WindFile = None,
    at: DataDate = None,
    strict: Strict = False,
    as_json: AsJson = False,
    out: Annotated[
        Path | None,
        typer.Option("--out", help="FILE.toml for the set-up alone; or a folder, and the set-up beside it."),
    ] = None,
) -> None:
    """Turn a site's log into sourced minutes, losses and moves for the next bid, as a set-up to paste."""
    from towerpace.face.rates import rates
    from towerpace.render.page.page import check_targets, write_whole

    alone = out is not None and out.suffix == ".toml"
    folder = None if alone else out
    target = out if alone or out is None else out.with_name(f"{out.name}.toml")
    tried(folder)
    if target is not None and (faults := check_targets([target])):
        from towerpace.faults import InputError

        raise InputError(faults)
    result = rates(
        read_scenario(scenario, strict=strict),
        log,
        progress=reported,
        wind=wind,
        at=None if at is None else at.date(),
    )
    hand_over(result, as_json=as_json, out=folder)
    if target is not None:
        typer.echo(f"To paste into a scenario: {write_whole(result.toml, target)}", err=as_json)
