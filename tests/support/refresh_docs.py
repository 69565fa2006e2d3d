"""Rerun the commands of the pages and write their true output into them.

python tests/support/refresh_docs.py [PAGE ...]
"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGES = ("README.md", *sorted(p.relative_to(ROOT).as_posix() for p in ROOT.glob("scenarios/manual/*.md")))
BLOCK = re.compile(r"```console\n\$ (?P<command>[^\n]+)\n(?P<output>.*?)```", flags=re.DOTALL)
RUN = "from towerpace.cli.app import main; main()"


@dataclass(frozen=True)
class Block:
    """A command of a page and the output that stands below it."""

    command: str
    output: str


def blocks(text: str) -> list[Block]:
    """Console blocks of a text."""
    return [Block(m["command"], m["output"]) for m in BLOCK.finditer(text)]


def run_block(block: Block, folder: Path) -> str:
    """True output of a block's command; results go to a folder of their own."""
    words = shlex.split(block.command)
    assert words[0] == "towerpace", block.command
    (folder / "scenarios").symlink_to(ROOT / "scenarios", target_is_directory=True)
    command = [sys.executable, "-c", RUN, *words[1:]]
    run = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return re.sub(r"[ \t]+\n", "\n", run.stdout + run.stderr)


def refresh(page: Path) -> None:
    """Write the true outputs into a page."""

    def refreshed(match: re.Match[str]) -> str:
        with tempfile.TemporaryDirectory() as folder:
            output = run_block(Block(match["command"], ""), Path(folder))
        return f"```console\n$ {match['command']}\n{output}```"

    page.write_text(BLOCK.sub(refreshed, page.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    for name in sys.argv[1:] or PAGES:
        refresh(ROOT / name)
