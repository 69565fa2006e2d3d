"""Play the pages anew and write into them what their commands and examples truly print.

python tests/support/refresh_docs.py [PAGE ...]

Without pages: all of them, the page of keys, the schema for editors, and the published example where the
model has moved. Nothing is written of a page whose commands end by a fault of ours; the script ends with 1.
"""

from __future__ import annotations

import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

if __name__ == "__main__":  # as a script it stands beside what it needs, not above it
    sys.path.insert(0, str(Path(__file__).parents[1]))

from support.command_line import ROOT, towerpace
from support.pages import PAGES, true_text
from support.refresh_example import EXAMPLE
from support.refresh_example import main as play_the_example
from towerpace.render.saved.answer_file import ANSWER

# What single commands write whole.
WRITTEN = {
    "scenarios/keys.md": ("keys", "--page"),
    "sim/towerpace/scenario/scenario.schema.json": ("keys", "--schema"),
}


def refreshed(page: str) -> tuple[str, bool]:
    """Play a page; its text, and whether the published example is what it played, if it played that."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        return true_text(page, folder), is_the_example(folder)


def is_the_example(folder: Path) -> bool:
    """Whether a forecast of the demo in this folder gave the published answer; so too if there is none."""
    played = [path.read_bytes() for path in folder.glob(f"results/{DEMO}/{ANSWER}")]
    return played in ([], [(EXAMPLE / ANSWER).read_bytes()])


DEMO = "gannet_wharf-*-1000"  # the folder of the README's forecast


def main() -> int:
    """Write what differs and name it; 1 if a page could not be played."""
    pages, failed = sys.argv[1:] or PAGES, 0
    if pages is PAGES:
        for name, words in WRITTEN.items():
            write(name, towerpace(*words).stdout)
    with ProcessPoolExecutor() as several:
        plays = {page: several.submit(refreshed, page) for page in pages}
        for page, play in plays.items():
            try:
                text, current = play.result()
            except RuntimeError as error:
                print(f"{page}: {error}", file=sys.stderr)
                failed = 1
                continue
            write(page, text)
            if not current:
                play_the_example()
                print("written: results/example")
    return failed


def write(name: str, text: str) -> None:
    """Write a file of the repository if that changes it."""
    path = ROOT / name
    if path.read_text(encoding="utf-8") != text:
        path.write_text(text, encoding="utf-8", newline="\n")
        print(f"written: {name}")


if __name__ == "__main__":
    sys.exit(main())
