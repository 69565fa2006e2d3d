"""What the commands share: options, progress with time left, tables."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    Progress,
    TaskID,
    TextColumn,
    TimeElapsedColumn,
    TimeRemainingColumn,
)
from rich.text import Text

from towerpace.engine import kernel
from towerpace.engine.names import EngineName

ScenarioPath = Annotated[Path, typer.Argument(metavar="SCENARIO", help="The scenario file (TOML).")]
Trials = Annotated[int, typer.Option("--trials", min=1, help="Number of trials.")]
Seed = Annotated[int, typer.Option("--seed", min=0, help="Seed of all random numbers.")]
Workers = Annotated[
    int | None,
    typer.Option("--workers", min=1, help="Processes; all cores by default. Numbers do not depend on it."),
]
AsJson = Annotated[
    bool, typer.Option("--json", help="Print one JSON object on standard output, nothing else.")
]
Engine = Annotated[
    EngineName,
    typer.Option("--engine", help="What plays the trials. Numbers do not depend on it, the time does."),
]
Cluster = Annotated[
    str | None,
    typer.Option("--cluster", help="Address of a Dask scheduler, as tcp://10.0.0.1:8786, or local."),
]

WIDTH = 80
# Exit codes; 0 is done.
OURS, INPUT, INTERRUPTED = 1, 2, 130


def cores() -> int:
    """Cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def command_line() -> str:
    """The command as it was typed."""
    return " ".join(["towerpace", *sys.argv[1:]])


def console() -> Console:
    """Standard output; plain and of fixed width where it is no terminal, to read the same anywhere."""
    terminal = Console(highlight=False)
    return terminal if terminal.is_terminal else Console(highlight=False, width=WIDTH, color_system=None)


class Advance:
    """Told of what is done, moves a bar on."""

    def __init__(self, bar: Progress, task: TaskID, what: str) -> None:
        self._bar, self._task, self._what = bar, task, what

    def __call__(self, done: int) -> None:
        self._bar.update(self._task, advance=done, description=self._what)

    def says(self, what: str) -> None:
        """What stands before the bar from now on."""
        self._what = what
        self._bar.update(self._task, description=what)

    def expect(self, more: int) -> None:
        """There is more to do than was said when the bar began."""
        self._bar.update(self._task, total=(self._bar.tasks[self._task].total or 0) + more)


@contextmanager
def progress(what: str, total: int) -> Iterator[Advance]:
    """A bar on standard error with the time left; gone when it is done."""
    columns = (
        TextColumn("{task.description}", markup=False),  # names have brackets
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TextColumn("left"),
        TimeRemainingColumn(),
    )
    if not kernel.available():
        typer.echo("numba is not installed: trials run on the slower engine, with the same numbers", err=True)
    out = Console(stderr=True)
    with Progress(*columns, console=out, transient=True, disable=not out.is_terminal) as bar:
        # A bar that stands still for ten seconds would look like a fault.
        first = ": compiling first, once" if out.is_terminal and kernel.is_compiled_first() else ""
        task = bar.add_task(what + first, total=total)
        yield Advance(bar, task, what)


@contextmanager
def spinner() -> Iterator[Callable[[str], None]]:
    """Says on one line of standard error what is being done; gone when it is done."""
    with Console(stderr=True).status("", spinner="dots") as status:
        yield lambda words: status.update(Text(words))  # names have brackets


def print_json(data: object) -> None:
    """One JSON object on standard output."""
    typer.echo(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))
