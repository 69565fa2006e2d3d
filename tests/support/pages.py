"""Pages as they would be if all that they say of commands and Python were written anew.

A page is played from its top: its commands (```console) and its examples in Python (```python, with `>>>`)
run in one folder, so that a later one finds what an earlier one has written. Figures of results folders are
not drawn: that takes longer than playing, and has tests of its own. An output that ends with a line of three
dots is the beginning of what is printed, so many lines of it.
"""

from __future__ import annotations

import contextlib
import doctest
import re
import shlex
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any
from unittest import mock

from support.command_line import ROOT, towerpace

PAGES = (
    "README.md",
    "DEVELOPERS.md",
    "scenarios/README.md",
    "scenarios/questions.md",
    *sorted(p.relative_to(ROOT).as_posix() for p in ROOT.glob("scenarios/manual/*.md")),
)
_FENCED = re.compile(r"```(?P<kind>console|python)\n(?P<text>.*?)```", flags=re.DOTALL)
OUR_FAULT = 1
DOTS = "..."
THROWN_AWAY = " 2>/dev/null"


@dataclass(frozen=True)
class Block:
    """A command of a page and the output that stands below it."""

    command: str
    output: str


def blocks(text: str) -> list[Block]:
    """The commands of a page."""
    return [_block(m["text"]) for m in _FENCED.finditer(text) if m["kind"] == "console"]


def _block(text: str) -> Block:
    command, _, output = text.removeprefix("$ ").partition("\n")
    return Block(command, output)


def true_text(page: str, folder: Path) -> str:
    """The page with the outputs that its commands and examples give now, played in an empty folder.

    Raises `RuntimeError` for a command that ends by a fault of ours.
    """
    (folder / "scenarios").symlink_to(ROOT / "scenarios", target_is_directory=True)
    names: dict[str, Any] = {}

    def played(fence: re.Match[str]) -> str:
        text = fence["text"]
        if fence["kind"] == "console":
            block = _block(text)
            return f"```console\n$ {block.command}\n{_as_long(output_of(block.command, folder), block)}```"
        return f"```python\n{_examples(text, names) if '>>>' in text else text}```"

    text = (ROOT / page).read_text(encoding="utf-8")
    with contextlib.chdir(folder), mock.patch("towerpace.render.folder._write_figures"):
        return _FENCED.sub(played, text)


def _as_long(output: str, block: Block) -> str:
    """All of an output, or so many lines of it as the page has above its dots."""
    shown = block.output.splitlines()
    if not shown or shown[-1] != DOTS:
        return output
    return "".join(line + "\n" for line in [*output.splitlines()[: len(shown) - 1], DOTS])


def output_of(command: str, folder: Path) -> str:
    """What a command prints in a folder, on both streams unless the second is thrown away."""
    typed = command.removesuffix(THROWN_AWAY)
    words = shlex.split(typed)
    if words[0] != "towerpace":
        raise RuntimeError(f"{command}: only towerpace can be played; other commands stand in ```sh")
    run = towerpace(*words[1:], cwd=folder)
    if run.returncode == OUR_FAULT:
        raise RuntimeError(f"{command}\n{run.stderr}")
    return re.sub(r"[ \t]+\n", "\n", run.stdout + (run.stderr if typed == command else ""))


class _Kept(doctest.DocTestRunner):
    """Keeps what each example prints instead of judging it."""

    def __init__(self) -> None:
        super().__init__(verbose=False)
        self.printed: list[str] = []

    def report_start(self, *_: Any) -> None:
        pass

    def report_success(self, out: Any, test: Any, example: doctest.Example, got: str) -> None:  # noqa: ARG002  doctest's
        self.printed.append(example.want)

    def report_failure(self, out: Any, test: Any, example: doctest.Example, got: str) -> None:  # noqa: ARG002  doctest's
        self.printed.append(re.sub(r"^$(?=\n)", "<BLANKLINE>", got, flags=re.MULTILINE))

    def report_unexpected_exception(
        self,
        out: Any,  # noqa: ARG002  doctest calls it so
        test: Any,  # noqa: ARG002  doctest calls it so
        example: doctest.Example,
        exc_info: tuple[type[BaseException], BaseException, TracebackType],
    ) -> None:
        raise RuntimeError(f"{example.source}\n{exc_info[1]}") from exc_info[1]


def _examples(text: str, names: dict[str, Any]) -> str:
    """Examples of Python with what they print now."""
    pieces = doctest.DocTestParser().parse(text)
    examples = [piece for piece in pieces if isinstance(piece, doctest.Example)]
    test, kept = doctest.DocTest(examples, names, "page", None, None, None), _Kept()
    kept.run(test, clear_globs=False)
    names.update(test.globs)  # for the examples further down the page
    printed = iter(kept.printed)
    return "".join(p if isinstance(p, str) else f"{_source(p)}{next(printed)}" for p in pieces)


def _source(example: doctest.Example) -> str:
    first, *more = example.source.splitlines()
    return "".join([f">>> {first}\n", *(f"... {line}".rstrip() + "\n" for line in more)])
