"""The command line as a user runs it, but inside the test's own process, where nothing has to start.

`towerpace` answers as `subprocess.run` does; `in_a_process` is the real thing, for tests of the process.
"""

from __future__ import annotations

import contextlib
import functools
import io
import os
import subprocess
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

import typer.main

from towerpace.cli.app import main

ROOT = Path(__file__).parents[2]
CODE = "from towerpace.cli.app import main; main()"
# Where nobody looks on, the terminal has this width; the one that runs the tests may have another.
COLUMNS = {"COLUMNS": "80"}
# A process makes the commands of the program once, from their signatures; so do all runs of a test process.
commands_of = functools.cache(typer.main.get_command)


@dataclass(frozen=True)
class Finished:
    """What a run leaves: its exit code, and what it wrote to either stream."""

    returncode: int
    stdout: str
    stderr: str


def towerpace(*words: object, cwd: Path = ROOT, env: Mapping[str, str] | None = None) -> Finished:
    """Run `towerpace` with these words through `main`; `env` is added to the environment.

    It sees one core: the numbers are the same on any, and more processes only take longer to start than small
    runs to play.
    """
    typed = ["towerpace", *map(str, words)]
    with (
        contextlib.chdir(cwd),
        mock.patch.dict(os.environ, {**COLUMNS, **(env or {})}),
        mock.patch.object(sys, "argv", typed),
        mock.patch.object(os, "sched_getaffinity", return_value={0}, create=True),
        mock.patch.object(sys.modules["__main__"], "__package__", None),  # or usage names what runs the tests
        mock.patch.object(sys, "excepthook", sys.excepthook),  # typer sets its own
        mock.patch.object(typer.main, "get_command", commands_of),
        _written("stdout") as stdout,
        _written("stderr") as stderr,
    ):
        returncode = _exit_code()
    return Finished(returncode, _text(stdout), _text(stderr))


def in_a_process(*words: object, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """Run `towerpace` with these words in a process of its own."""
    command = [sys.executable, "-c", CODE, *map(str, words)]
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=False)


def _exit_code() -> int:
    """The code that the interpreter would end with: none is 0, words are 1."""
    try:
        main()
    except SystemExit as end:
        if end.code is None or isinstance(end.code, int):
            return end.code or 0
        print(end.code, file=sys.stderr)
        return 1
    return 0


@contextlib.contextmanager
def _written(stream: str) -> Iterator[io.BytesIO]:
    """Bytes written to standard output or error; encoded as a pipe is, so that bytes may be written too."""
    taken = io.BytesIO()
    text = io.TextIOWrapper(taken, encoding="utf-8", write_through=True)
    with mock.patch.object(sys, stream, text):
        yield taken
    text.flush()
    text.detach()  # or the bytes would be closed with it


def _text(taken: io.BytesIO) -> str:
    return taken.getvalue().decode("utf-8").replace("\r\n", "\n")
