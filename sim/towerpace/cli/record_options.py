"""Options of every command that reads the record of a site."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated, Literal

import typer

Sheet = Annotated[Path, typer.Option("--progress", metavar="FILE.csv", help="The sheet of progress.")]
LogFile = Annotated[Path | None, typer.Option("--log", metavar="FILE.csv", help="The log of the site.")]
WindFile = Annotated[
    Path | None, typer.Option("--wind", metavar="FILE.csv", help="Hours measured on the site.")
]
EventsFile = Annotated[
    Path | None, typer.Option("--events", metavar="FILE.csv", help="What befell the site, as for delay.")
]
DataDate = Annotated[
    datetime | None,
    typer.Option("--at", formats=["%Y-%m-%d"], help="The data date; by default the last of the sheet."),
]
Learn = Annotated[Literal["yes", "no"], typer.Option("--learn", help="Whether paces are learned.")]
