"""Which test notices what? One change of the engine at a time, in a copy of the tree, against quick tests.

    python tests/bench/mutations.py [--only WORDS] [--workers N]

Each change is made in a temporary folder, never in place; the page of published checks is not compared there,
so what catches a change is a check against its source; unit tests are asked where no published check fails.
Prints a table; exit code 1 if anything is not caught.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
PARTS = ("sim", "tests", "scenarios", "pyproject.toml")
OPTIONS = ("-x", "-q", "-n0", "--tb=no", "-p", "no:cacheprovider", "-m", "not slow")
PUBLISHED = ("tests/published", "--ignore=tests/published/test_published_page.py")
UNITS = (
    "tests/plan/test_rulings.py",
    "tests/climate/test_weather_limits.py",
    "tests/climate/test_height.py",
    "tests/answers/test_by_hand.py",
    "tests/answers/test_selection.py",
)
TIME_LIMIT_S = 600


@dataclass(frozen=True)
class Mutation:
    """A change: what it does to the model, the file, and texts to be replaced, each found exactly once."""

    name: str
    file: str
    changes: Sequence[tuple[str, str]]


REFERENCE, TURNS = "engine/reference.py", "engine/turns.py"
POOLS, OPENINGS = "engine/pools.py", "engine/openings.py"
KEY = "key = (now if self._first_come[step] else 0, self._rank[step], step)"
WINDOW = "if not self._window_allows(key):"

MUTATIONS = (
    Mutation(
        "durations 2 % long",
        REFERENCE,
        [("self.work[step] + move\n", "self.work[step] * 51 // 50 + move\n")],
    ),
    Mutation(
        "one crew short where there are several",
        POOLS,
        [("= pools.units.tolist()", "= [n - (n > 1) for n in pools.units.tolist()]")],
    ),
    Mutation(
        "ties to the highest number",
        TURNS,
        [(KEY, "key = (now if self._first_come[step] else 0, self._rank[step] * 10**6 - step, step)")],
    ),
    Mutation("ranks ignored", TURNS, [(KEY, "key = (now if self._first_come[step] else 0, 0, step)")]),
    Mutation("first come ignored", TURNS, [(KEY, "key = (0, self._rank[step], step)")]),
    Mutation(
        "lines ignored",
        TURNS,
        [("lists.rank, lists.first_come, lists.line", "lists.rank, lists.first_come, [NONE] * plan.n")],
    ),
    Mutation(
        "head of a line starts in a closed window",
        TURNS,
        [(WINDOW, "if line is None and not self._window_allows(key):")],
    ),
    Mutation(
        "head with a closed window lets the next one past",
        TURNS,
        [
            (
                "if line is not None and line[0] != key:",
                "if line is not None and line[0] != key and self._spot[line[0][2]] != SHUT:",
            ),
            ("        heappop(line)\n        if line and", "        line.sort()\n        if line and"),
            (
                "            self._leave(line, step)",
                "            line.remove(key)\n            self._leave(line, step)",
            ),
            (
                "            return False\n        self._spot[step] = NOWHERE",
                "            if line is not None:\n"
                "                for other in sorted(line):\n"
                "                    if self._spot[other[2]] == BEHIND:\n"
                "                        self._look_at(other)\n"
                "            return False\n        self._spot[step] = NOWHERE",
            ),
        ],
    ),
    Mutation(
        "a step set aside is not asked again in the same minute",
        TURNS,
        [
            (
                "        self._gained.add(pool)\n        self._put_back(pool)\n",
                "        self._gained.add(pool)\n",
            )
        ],
    ),
    Mutation(
        "a step of no length ends after the others are served",
        TURNS,
        [("return move == 0 and self._work[step] == 0", "return False")],
    ),
    Mutation(
        "pauses end one minute late",
        OPENINGS,
        [("bisect_right(self._open_before, goal - 1) - 1", "bisect_right(self._open_before, goal) - 1")],
    ),
    Mutation(
        "work does not pause",
        REFERENCE,
        [("if self.mode[step] == WORK:", "if self.mode[step] == WORK and False:")],
    ),
    Mutation(
        "broken work resumes where it was",
        REFERENCE,
        [(".done_unbroken(now, minutes)", ".done(now, minutes)")],
    ),
    Mutation(
        "a lift that just fits the shift waits",
        OPENINGS,
        [("if start + expected <= shift_ends[k]:", "if start + expected < shift_ends[k]:")],
    ),
    Mutation(
        "the wait before a restart is dropped",
        "climate/limits.py",
        [("    spans[:, 1] += restart_min\n", "")],
    ),
    Mutation(
        "a gust on the limit stops",
        "climate/limits.py",
        [("return np.greater(scaled,", "return np.greater_equal(scaled,")],
    ),
    Mutation(
        "turbulence factor of gusts one step off",
        "climate/height.py",
        [("math.sqrt(1 + 7 * turbulence)", "math.sqrt(1 + 6 * turbulence)")],
    ),
    Mutation(
        "gust limits taken up with the height by the law of means",
        "plan/site/closures.py",
        [('ratio = gust_ratio if kind == "gust" else mean_ratio', "ratio = mean_ratio")],
    ),
    Mutation(
        "a holiday is worked",
        "plan/site/closures.py",
        [("closed = set(closed_days)", "closed = set(closed_days[1:])")],
    ),
    Mutation(
        "lags one minute short",
        "plan/expand.py",
        [("Step(name, work=after.lag, after", "Step(name, work=max(0, after.lag - 1), after")],
    ),
    Mutation("keeps given back at once", "plan/model.py", [(" if q not in s.keeps]", "]")]),
    Mutation(
        "two units needed, one taken",
        POOLS,
        [("            self.free[pool] -= quantity\n", "            self.free[pool] -= 1\n")],
    ),
    Mutation(
        "the farthest crane is sent",
        POOLS,
        [("way, unit = min((0 if place", "way, unit = max((0 if place")],
    ),
    Mutation(
        "a crane stays where it began",
        POOLS,
        [("                    self._at[pool][unit] = self._place[step]\n", "                    pass\n")],
    ),
    Mutation(
        "the enabler of a minute is the lowest number",
        REFERENCE,
        [("if last < 0 or step > last or", "if last < 0 or step < last or")],
    ),
    Mutation(
        "an end on the horizon is lost",
        REFERENCE,
        [("until=self.plan.horizon + 1", "until=self.plan.horizon")],
    ),
    Mutation(
        "draws keyed by order of use",
        "draws.py",
        [
            (
                '        digest = blake2b(f"{seed}/{purpose}"',
                '        USED.append(purpose)\n        digest = blake2b(f"{seed}/{len(USED)}"',
            ),
            ("_FROM_0 = np", "USED: list[str] = []\n_FROM_0 = np"),
        ],
    ),
    Mutation(
        "the curve of learning is that of the average",
        "plan/site/numbers.py",
        [
            (
                "return float(min(unit, plateau) ** log2(rate))",
                "n, b = min(unit, plateau), 1 + log2(rate)\n    return float(n**b - (n - 1) ** b)",
            )
        ],
    ),
    Mutation(
        "interval of a percentile one rank too narrow",
        "answers/estimates.py",
        [("high = int(binom.ppf(1 - tail, n, p)) + 1", "high = int(binom.ppf(1 - tail, n, p))")],
    ),
    Mutation(
        "paired difference taken as unpaired",
        "answers/choice/paired.py",
        [
            (
                "sd = float(single.mean()), float(single.std(ddof=1))",
                "sd = float(single.mean()), float(np.sqrt(a.var(ddof=1) + b.var(ddof=1)))",
            )
        ],
    ),
    Mutation(
        "selection forgets the zone",
        "answers/choice/selection.py",
        [("return max(0.0, zone / 2 * (h2", "return max(0.0, 0.0 * (h2")],
    ),
)


def mutate(mutation: Mutation, tree: Path) -> None:
    """Make the change in a copied tree; raises `LookupError` if it does not fit."""
    path = tree / "sim" / "towerpace" / mutation.file
    text = path.read_text(encoding="utf-8")
    for old, new in mutation.changes:
        if text.count(old) != 1:
            raise LookupError(
                f"{mutation.name}: {mutation.file} has {old!r} {text.count(old)} times, not once"
            )
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")


def copied(folder: Path) -> Path:
    """A copy of everything that the tests need."""
    for part in PARTS:
        source = ROOT / part
        if source.is_dir():
            shutil.copytree(source, folder / part, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, folder / part)
    return folder


def first_failure(tree: Path, tests: Sequence[str]) -> str:
    """Name of the first test that fails, "stands still" if they never end, or an empty text."""
    environment = os.environ | {"PYTHONPATH": str(tree / "sim"), "PUBLISHED_PAGE": "off"}
    try:
        done = subprocess.run(
            [sys.executable, "-m", "pytest", *OPTIONS, *tests],
            cwd=tree,
            env=environment,
            capture_output=True,
            text=True,
            timeout=TIME_LIMIT_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return "stands still"
    if done.returncode == 0:
        return ""
    found = re.search(
        r"^(?:FAILED|ERROR) \S*?([^/\s]+\.py)(?:::(.+?))?(?: - .*)?$", done.stdout, re.MULTILINE
    )
    if found is None:
        return f"pytest ended with {done.returncode}"
    name = (found[2] or "not collected").split("::")[-1]
    return f"{found[1].removesuffix('.py').removeprefix('test_')}: {name.removeprefix('test_')}"


def caught(mutation: Mutation) -> tuple[str, str]:
    """Kind and name of the first test that fails, both empty if none does.

    Raises `LookupError` if the change does not fit the engine.
    """
    with tempfile.TemporaryDirectory() as folder:
        tree = copied(Path(folder))
        mutate(mutation, tree)
        for kind, tests in (("published", PUBLISHED), ("unit", UNITS)):
            name = first_failure(tree, tests)
            if name:
                return kind, name
    return "", ""


def main() -> int:
    """Try every change and print the table; returns the exit code."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--only", default="", help="changes whose names hold these words")
    parser.add_argument("--workers", type=int, default=2)
    arguments = parser.parse_args()
    untouched = Mutation("nothing changed", REFERENCE, [])
    chosen = [untouched, *(m for m in MUTATIONS if arguments.only in m.name)]
    wrong = 0
    print("| change | tests | caught by |\n| --- | --- | --- |")
    with ThreadPoolExecutor(arguments.workers) as pool:
        for mutation, (kind, name) in zip(chosen, pool.map(caught, chosen), strict=True):
            wrong += (name == "") != (mutation is untouched)
            silent = "all pass" if mutation is untouched else "NOT CAUGHT"
            print(f"| {mutation.name} | {kind or '-'} | {name or silent} |", flush=True)
    print(f"\n{len(chosen) - 1} changes, {wrong} that do not show or fail for another reason")
    return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main())
