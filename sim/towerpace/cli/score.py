"""towerpace score: earlier forecasts marked by what came."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.output import hand_over, tried
from towerpace.cli.terminal import AsJson


def command(
    results: Annotated[
        list[Path], typer.Argument(metavar="RESULTS...", help="Folders of forecast, update and ahead.")
    ],
    sheet: Annotated[Path, typer.Option("--progress", metavar="FILE.csv", help="The sheet of progress.")],
    scenario: Annotated[
        Path | None,
        typer.Option("--scenario", metavar="FILE.toml", help="Of the site; by default that of the results."),
    ] = None,
    log: Annotated[
        Path | None, typer.Option("--log", metavar="FILE.csv", help="The log of the site.")
    ] = None,
    wind: Annotated[
        Path | None, typer.Option("--wind", metavar="FILE.csv", help="Hours measured on the site.")
    ] = None,
    promises: Annotated[
        Path | None, typer.Option("--promises", metavar="FILE.csv", help="What was promised, to be settled.")
    ] = None,
    at: Annotated[
        datetime | None,
        typer.Option("--at", formats=["%Y-%m-%d"], help="Up to when; by default the last day of the sheet."),
    ] = None,
    as_json: AsJson = False,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for its tables and figures.")] = None,
) -> None:
    """Mark earlier forecasts by what came, each judged against its own trials, and settle promises."""
    from towerpace.face.score import score
    from towerpace.scenario.load import load

    tried(out)
    result = score(
        results,
        sheet,
        scenario=None if scenario is None else load(scenario),
        log=log,
        wind=wind,
        at=None if at is None else at.date(),
        promises=promises,
    )
    hand_over(result, as_json=as_json, out=out)
