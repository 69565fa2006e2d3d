"""What every command does with its answer: print it, or its JSON, and keep it in a folder."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from towerpace.cli.terminal import INPUT, INTERRUPTED, OURS, command_line, print_json
from towerpace.face.result import Result
from towerpace.faults import InputError

if TYPE_CHECKING:
    from towerpace.face.report import Report


def tried(out: Path | None) -> None:
    """Try the results folder before anything is played, and have somebody get ready to fill it.

    Raises `InputError` where it cannot be written.
    """
    if out is not None:
        from towerpace.render.folder import check_folder, stand_by

        check_folder(out)
        stand_by()


def hand_over(
    result: Result[Any], *, as_json: bool, out: Path | None, code_when_stopped: int = INTERRUPTED
) -> None:
    """Print the answer, for people or as JSON, then write it to its folder if there is one.

    Neither failure costs the other: what cannot be printed is still kept, and what cannot be kept in its
    folder is kept in another.
    """
    printed = _printed(result, as_json=as_json)
    folder = None if out is None else _kept(result, out)
    if folder is not None:
        typer.echo(f"\nTables and figures: {folder}", err=as_json or not printed)
    if result.interrupted:
        typer.echo(f"Interrupted: {result.interrupted}. To play all of it:\n{command_line()}", err=True)
        raise typer.Exit(code_when_stopped)
    if folder != out or not printed:
        raise typer.Exit(INPUT)


def _printed(result: Result[Any], *, as_json: bool) -> bool:
    """Print the answer; False, and a sentence, where that fails. A closed pipe is no fault."""
    try:
        if as_json:
            print_json(result.to_json())
        else:
            from towerpace.cli.show import show

            show(result.answer)
        if sys.stdout is not None:
            sys.stdout.flush()
    except (BrokenPipeError, SystemExit):  # the terminal's library ends the program where a pipe is closed
        _print_no_more()
    except OSError as error:
        _print_no_more()
        typer.echo(f"The answer cannot be printed: {error.strerror or error}.", err=True)
        return False
    return True


def _print_no_more() -> None:
    """Send to nowhere what still waits to be printed, so that it does not fail again at the end."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())


def _kept(result: Result[Any], out: Path) -> Path | None:
    """The folder in which the answer lies: the wanted one, or another where that cannot be written."""
    try:
        return result.save(out, command=command_line())
    except (InputError, OSError, MemoryError) as error:
        typer.echo(f"\nNot written to {out}: {why(error)}.", err=True)
    try:
        other = Path(tempfile.mkdtemp(prefix="towerpace-")) / "results"
        return result.save(other, command=command_line())
    except (InputError, OSError, MemoryError) as error:
        typer.echo(f"Not written to {tempfile.gettempdir()} either: {why(error)}.", err=True)
    typer.echo("The same command with --out and another folder gives the same numbers.", err=True)
    return None


def say_written(outcome: Report, words: str, *, err: bool = False) -> None:
    """Name the files of a report, and what could not be written; that ends the command."""
    if outcome.written:
        typer.echo(f"{words}: {', '.join(map(_shown, outcome.written))}", err=err)
    for fault in outcome.failed:
        typer.echo(f"Not written: {fault}", err=True)
    if outcome.failed:
        raise typer.Exit(INPUT if outcome.is_for_want else OURS)


def _shown(path: Path) -> str:
    """A path as it is typed in this folder."""
    try:
        return path.resolve().relative_to(Path.cwd()).as_posix()
    except ValueError:
        return str(path)


def why(error: Exception) -> str:
    """What failed, in words."""
    if isinstance(error, InputError):
        return "; ".join(fault.found for fault in error.faults)
    if isinstance(error, MemoryError):
        return "memory ran out"
    return str(getattr(error, "strerror", None) or error)
