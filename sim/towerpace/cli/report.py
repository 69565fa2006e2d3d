"""towerpace report: one page that stands alone, and a PDF, a workbook and a calendar, from saved results."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import Annotated

import typer

from towerpace.cli.output import say_written
from towerpace.cli.terminal import WIDTH


def command(
    results: Annotated[
        list[Path],
        typer.Argument(
            metavar="RESULTS...",
            help="Results folders of one scenario, written with --out; the first gives the report its name.",
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FILE.html", help="The page; by default beside the first folder."),
    ] = None,
    pdf: Annotated[Path | None, typer.Option("--pdf", metavar="FILE.pdf", help="Also as a PDF.")] = None,
    xlsx: Annotated[
        Path | None, typer.Option("--xlsx", metavar="FILE.xlsx", help="Also all tables as a workbook.")
    ] = None,
    ics: Annotated[
        Path | None,
        typer.Option(
            "--ics", metavar="FILE.ics", help="Also closing-ins, finish and contract dates as a calendar."
        ),
    ] = None,
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", metavar="FILE.html", help="One side of paper for a meeting, of ahead."),
    ] = None,
) -> None:
    """Write a report that stands alone, from saved results only."""
    from towerpace.face.report import report

    outcome = report(results, out=out, pdf=pdf, xlsx=xlsx, ics=ics, sheet=sheet)
    typer.echo(textwrap.fill(outcome.page.headline, WIDTH).replace("\u00a0", " "))
    typer.echo()
    say_written(outcome, "Report")
