"""Rerun the commands of the pages and write their true output into them.

python tests/support/refresh_docs.py [PAGE ...]
"""

from __future__ import annotations

import re
import shlex
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

if __name__ == "__main__":  # as a script it stands beside what it needs, not above it
    sys.path.insert(0, str(Path(__file__).parents[1]))

from support.command_line import ROOT, towerpace

PAGES = (
    "README.md",
    "scenarios/README.md",
    *sorted(p.relative_to(ROOT).as_posix() for p in ROOT.glob("scenarios/manual/*.md")),
)
BLOCK = re.compile(r"```console\n\$ (?P<command>[^\n]+)\n(?P<output>.*?)```", flags=re.DOTALL)


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
    run = towerpace(*words[1:], cwd=folder)
    return re.sub(r"[ \t]+\n", "\n", run.stdout + run.stderr)


def main() -> None:
    """Write the true outputs into the pages, or into those named on the command line."""

    def refreshed(match: re.Match[str]) -> str:
        with tempfile.TemporaryDirectory() as folder:
            output = run_block(Block(match["command"], ""), Path(folder))
        return f"```console\n$ {match['command']}\n{output}```"

    for page in sys.argv[1:] or PAGES:
        path = ROOT / page
        path.write_text(BLOCK.sub(refreshed, path.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
