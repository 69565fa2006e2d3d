"""Give every name of a hostile list to all that has a name, ask every question, and read what is written.

    python tests/bench/bench_names.py [--first 0] [--turns 22]

Each turn is a site of its own (`tests/support/hostile_site.py`); in as many turns as there are names each
role has borne each. What is read, and by which programs, stands in `tests/support/read_back.py`.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.command_line import towerpace
from support.hostile_site import HOSTILE_NAMES, QUESTIONS, asked, write_hostile_site
from support.read_back import read_back, said_safely

FORMS = ("pdf", "xlsx", "ics")
NO_DATES = "found no dates"  # a calendar of an answer that has none is refused


def main() -> None:
    """Print what was wrong, and how many commands and files were looked at."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--turns", type=int, default=len(HOSTILE_NAMES))
    options = parser.parse_args()
    looked_at, wrong = Counter[str](), 0
    for turn in range(options.first, options.first + options.turns):
        with TemporaryDirectory() as place:
            folder = Path(place)
            names = write_hostile_site(folder, HOSTILE_NAMES, turn=turn)
            given = {path.name for path in folder.iterdir()}
            runs = [asked(question, names) for question in QUESTIONS]
            runs += [words for question in QUESTIONS for words in _reports(question)]
            for words in runs:
                wrong += _ran(folder, words, turn)
            looked_at["commands"] += len(runs)
            for path in sorted(folder.rglob("*.*")):
                if path.is_file() and path.relative_to(folder).parts[0] not in given:
                    looked_at[path.suffix] += 1
                    wrong += _read(path, turn)
        print(f"turn {turn}: {dict(looked_at)}, {wrong} wrong", flush=True)


def _reports(question: str) -> list[list[str]]:
    page = ["report", question, "--out", f"{question}.html"]
    return [page, *([*page, f"--{form}", f"{question}.{form}"] for form in FORMS)]


def _ran(folder: Path, words: list[str], turn: int) -> bool:
    if words[0] == "report" and not (folder / words[1] / "answer.json").is_file():
        return False  # nothing that is reported: a check, a log of events, a study
    run = towerpace(*words, cwd=folder)
    try:
        said_safely(run.stdout + run.stderr)
        assert run.returncode == 0 or NO_DATES in run.stderr
    except AssertionError:
        print(f"  turn {turn}, {words}: exit {run.returncode}, {run.stderr[-600:]}")
        return True
    return False


def _read(path: Path, turn: int) -> bool:
    try:
        read_back(path)
    except Exception as error:  # whatever another program says of the file
        print(f"  turn {turn}, {path.name}: {type(error).__name__}, {str(error)[:300]}")
        return True
    return False


if __name__ == "__main__":
    main()
