"""What every command does with its answer: print it, or its JSON, and keep it in a folder."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer

from towerpace.cli.terminal import command_line, print_json
from towerpace.face.result import Result


def tried(out: Path | None) -> None:
    """Try the results folder before anything is played; raises `InputError` where it cannot be written."""
    if out is not None:
        from towerpace.render.folder import check_folder

        check_folder(out)


def hand_over(result: Result[Any], *, as_json: bool, out: Path | None) -> None:
    """Print the answer, for people or as JSON, then write it to its folder if there is one."""
    if as_json:
        print_json(result.to_json())
    else:
        from towerpace.cli.show import show

        show(result.answer)
    if out is not None:
        folder = result.save(out, command=command_line())
        typer.echo(f"\nTables and figures: {folder}", err=as_json)
