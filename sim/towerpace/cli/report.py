"""towerpace report: one page that stands alone, and a PDF and a workbook of the same, from saved results."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from towerpace.faults import Fault


def command(
    results: Annotated[
        list[Path],
        typer.Argument(
            metavar="RESULTS...",
            help="Results folder of a forecast or a comparison; further folders of the same scenario "
            "(compare, explain, bid) join it.",
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
) -> None:
    """Write a report that stands alone, from saved results only."""
    from towerpace.faults import InputError
    from towerpace.render.page.page import page_of, write_page
    from towerpace.render.page.results import read_results

    target = out or results[0].resolve().with_name(f"{results[0].resolve().name}.html")
    if faults := _faults(target, pdf=pdf, xlsx=xlsx):
        raise InputError(faults)
    found = read_results(results)
    page = page_of(found)
    written = [write_page(page, target)]
    if pdf is not None:
        from towerpace.render.page.print import write_pdf

        written.append(write_pdf(page, pdf))
    if xlsx is not None:
        from towerpace.render.page.sheets import write_sheets

        written.append(write_sheets(found, xlsx))
    typer.echo(page.headline.replace("\u00a0", " "))
    typer.echo(f"\nReport: {', '.join(_shown(path) for path in written)}")


def _faults(target: Path, *, pdf: Path | None, xlsx: Path | None) -> list[Fault]:
    """What stands in the way of any of the files, asked before one of them is written."""
    from towerpace.render.page.page import check_targets
    from towerpace.render.page.print import can_print
    from towerpace.render.page.sheets import can_tabulate

    targets = [path for path in (target, pdf, xlsx) if path is not None]
    return [
        *check_targets(targets),
        *(can_print() if pdf is not None else []),
        *(can_tabulate() if xlsx is not None else []),
    ]


def _shown(path: Path) -> str:
    try:
        return path.resolve().relative_to(Path.cwd()).as_posix()
    except ValueError:
        return str(path)
