"""towerpace score: earlier forecasts marked by what came."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.output import hand_over, tried
from towerpace.cli.record_options import DataDate, LogFile, Sheet, WindFile
from towerpace.cli.terminal import AsJson


def command(
    results: Annotated[
        list[Path], typer.Argument(metavar="RESULTS...", help="Folders of forecast, update and ahead.")
    ],
    sheet: Sheet,
    scenario: Annotated[
        Path | None,
        typer.Option("--scenario", metavar="FILE.toml", help="Of the site; by default that of the results."),
    ] = None,
    log: LogFile = None,
    wind: WindFile = None,
    promises: Annotated[
        Path | None, typer.Option("--promises", metavar="FILE.csv", help="What was promised, to be settled.")
    ] = None,
    at: DataDate = None,
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
