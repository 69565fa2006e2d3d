"""The page of published checks: one row a check, recorded by the tests themselves and kept true by them.

    python tests/support/published_page.py

runs tests/published and writes tests/published/README.md. Without it every run of the tests compares each row
that it records with the page, so a page that no longer says what the tests find fails them.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import astuple, dataclass
from functools import lru_cache
from math import floor, log10
from pathlib import Path

import numpy as np
import pytest

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))

from support.estimates import Estimate

PUBLISHED = Path(__file__).parents[1] / "published"
PAGE = PUBLISHED / "README.md"
SWITCH = "PUBLISHED_PAGE"  # "off" in the environment: rows are recorded and asserted, not compared
KEY = "published row"
REMEDY = "python tests/support/published_page.py writes it anew"
HEADINGS = ("check", "source", "expected", "got", "tolerance")
PREFACE = """# Published results, and what towerpace makes of them

Each row is a check of the tests in this folder: what the literature, a closed form or an independent program
says, and what the model gives under a fixed seed. A tolerance of so many standard errors (se) belongs to a
simulated figure, any other is an absolute one, and "equal" asks for the very number or word. The full source
of a row, and whether it was read, recomputed or stated from memory, stands in the file its heading names.
"""
THEMES = {
    "networks": "Networks",
    "merge_bias": "Merge bias and correlation",
    "stochastic_tower": "The exact stochastic tower",
    "laws": "Laws of duration",
    "lags": "Lags",
    "anomalies": "Anomalies",
    "resource_constrained": "Resource-constrained scheduling",
    "job_shop": "Job shop",
    "flow_shops": "Flow shops",
    "queues": "Queues",
    "line_of_balance": "Line of balance",
    "which_crew_to_add": "Which crew to add",
    "learning": "Learning",
    "wind_laws": "Wind at height",
    "wind_and_work": "Wind and work",
    "calendars": "Calendars",
    "percentiles": "Percentiles",
    "availability": "Availability and retries",
    "hoist_travel": "Hoist travel",
    "concrete": "Concrete",
    "sail": "Sail",
    "rules": "Rules as data",
    "common_random_numbers": "Common random numbers",
    "selecting_the_best": "Selecting the best",
    "sensitivity": "Sensitivity",
}
# The strongest for the project's README, by the beginning of the check.
STRONGEST = (
    "latest finish first, job by job",
    "ten instances of 20 floors and 5 trades",
    "finish of 25 floors, means 4, 4",
    "finish of 8 floors, means 1, 2, 1, 2, 1",
    "three hoists",
    "hoist stopped by wind in clock time",
    "textbook project, beta-PERT",
    "task that wind interrupts and that begins again",
    "one crew more on each of five trades",
    "15 working days over Easter",
)

Wanted = float | str
Found = float | str | Estimate


@dataclass(frozen=True)
class Row:
    """One check as it stands on the page."""

    theme: str
    check: str
    source: str
    expected: str
    got: str
    tolerance: str


@dataclass(frozen=True)
class Stand:
    """Records a check and asserts it; tests have it as the fixture `stand`."""

    theme: str
    record: Callable[[str, object], None]

    def __call__(
        self,
        check: str,
        source: str,
        *,
        expected: Wanted | Sequence[Wanted],
        got: Found | Sequence[Found],
        within: float = 0.0,
        sees: float = 0.0,
        reference_draws: int = 0,
    ) -> None:
        """Record and assert that one value, or each of several, is the expected one.

        within : absolute tolerance of plain numbers; text must be equal. sees : see `Estimate.agrees`.
        reference_draws : independent draws behind an expected value that was itself simulated, in multiples
        of those behind the estimate.
        """
        pairs = list(zip(_several(expected), _several(got), strict=True))
        judged = [_judge(a, b, within=within, sees=sees, reference_draws=reference_draws) for a, b in pairs]
        row = _row(self.theme, check, source, pairs, [tolerance for _, tolerance in judged])
        self._keep(row, kept=all(agrees for agrees, _ in judged))

    def at_least(self, check: str, source: str, *, expected: float, got: Estimate) -> None:
        """Record and assert that an estimate is not below a bound by more than 4 standard errors."""
        row = _row(self.theme, check, source, [(expected, got)], [4 * got.error])
        row = Row(row.theme, row.check, row.source, f"at least {row.expected}", row.got, row.tolerance)
        self._keep(row, kept=got.value >= expected - 4 * got.error)

    def _keep(self, row: Row, *, kept: bool) -> None:
        assert kept, f"{row.check}: expected {row.expected}, got {row.got}, tolerance {row.tolerance}"
        assert "|" not in "".join(astuple(row)), row
        self.record(KEY, astuple(row))
        if os.environ.get(SWITCH) != "off":
            on_page = rows_of(PAGE.read_text(encoding="utf-8")).get((row.theme, row.check))
            assert row == on_page, f"{PAGE.name} says {on_page}, the test found {row}; {REMEDY}"


def _several(values: Found | Sequence[Found]) -> list[Found]:
    return [values] if isinstance(values, (float, int, str, Estimate)) else list(values)


def _judge(
    wanted: Found, found: Found, *, within: float, sees: float, reference_draws: int
) -> tuple[bool, float]:
    """Whether a value agrees, and its tolerance."""
    if isinstance(wanted, str) or isinstance(found, str):
        return wanted == found, within
    assert not isinstance(wanted, Estimate)
    if isinstance(found, Estimate):
        known_to = found.error / reference_draws**0.5 if reference_draws else 0.0
        return found.agrees(wanted, sees=sees, known_to=known_to), 4 * float(np.hypot(found.error, known_to))
    return abs(found - wanted) <= within, within


def _row(
    theme: str, check: str, source: str, pairs: Sequence[tuple[Found, Found]], tolerances: Sequence[float]
) -> Row:
    got = [_digits(found, tolerance) for (_, found), tolerance in zip(pairs, tolerances, strict=True)]
    said = [f"{t:.2g}" for t in tolerances] if len({*tolerances}) > 1 else [f"{tolerances[0]:.2g}"]
    tolerance = "equal" if not any(tolerances) else ", ".join(said)
    if any(isinstance(found, Estimate) for _, found in pairs):
        tolerance = f"4 se = {tolerance}"
    return Row(theme, check, source, ", ".join(_digits(a, 0.0) for a, _ in pairs), ", ".join(got), tolerance)


def _digits(value: Found, tolerance: float) -> str:
    """A value to the digits that its tolerance allows."""
    if isinstance(value, str):
        return value
    number = value.value if isinstance(value, Estimate) else float(value)
    if tolerance == 0:
        return f"{number:.10g}"
    decimals = min(6, max(0, 1 - floor(log10(tolerance))))
    return f"{round(number, decimals) + 0.0:.{decimals}f}"


class Recorded:
    """Gathers the rows that the tests record, also those of tests that run in other processes."""

    def __init__(self) -> None:
        self.rows: list[Row] = []
        self.passed: set[str] = set()

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Keep the rows of a finished test, and the name of its file."""
        if report.when == "call":
            found = (value for key, value in report.user_properties if key == KEY)
            self.rows += [Row(*map(str, value)) for value in found if isinstance(value, (tuple, list))]
            self.passed.add(Path(report.nodeid.partition("::")[0]).name)


class Guard(Recorded):
    """Fails a run of all published checks if the page has a row that none of them recorded."""

    def pytest_sessionfinish(self, session: pytest.Session, exitstatus: int) -> None:
        """Compare the page with what was recorded, unless tests were left out on purpose."""
        config = session.config
        chosen = any(config.getoption(name, None) for name in ("keyword", "markexpr", "deselect", "lf"))
        chosen |= any("::" in argument for argument in config.args)
        whole = self.passed.issuperset(f"test_{theme}.py" for theme in THEMES) and not chosen
        if exitstatus or not whole or os.environ.get(SWITCH) == "off":
            return
        left = set(rows_of(PAGE.read_text(encoding="utf-8")).values()).difference(self.rows)
        if left:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED
            names = "; ".join(sorted(f"{row.theme}: {row.check}" for row in left))
            config.get_terminal_writer().line(f"\n{PAGE.name} has rows no test records, {REMEDY}: {names}")


def page_of(rows: Sequence[Row]) -> str:
    """The page in Markdown; raises `ValueError` if two rows of a theme have one name."""
    if len({(row.theme, row.check) for row in rows}) < len(rows):
        names = [f"{row.theme}: {row.check}" for row in rows]
        raise ValueError("recorded twice: " + "; ".join(sorted({n for n in names if names.count(n) > 1})))
    parts = [PREFACE]
    for theme, title in THEMES.items():
        lines = [_line(astuple(row)[1:]) for row in rows if row.theme == theme]
        head = [_line(HEADINGS), _line(["---"] * len(HEADINGS))]
        parts.append("\n".join([f"## {title}: [`test_{theme}.py`](test_{theme}.py)", "", *head, *lines, ""]))
    return "\n".join(parts)


def _line(cells: Iterable[str]) -> str:
    return "| " + " | ".join(cells) + " |"


@lru_cache(maxsize=2)
def rows_of(text: str) -> dict[tuple[str, str], Row]:
    """Rows of a page by theme and check."""
    found: dict[tuple[str, str], Row] = {}
    theme = ""
    for line in text.splitlines():
        if line.startswith("## "):
            theme = line.partition("](test_")[2].removesuffix(".py)")
        elif line.startswith("| ") and not line.startswith(("| check |", "| --- |")):
            row = Row(theme, *line[2:-2].split(" | "))
            found[theme, row.check] = row
    return found


def strongest(text: str) -> str:
    """The ten strongest rows of a page as a table of its own."""
    rows = list(rows_of(text).values())
    chosen = [next(row for row in rows if row.check.startswith(begin)) for begin in STRONGEST]
    lines = [_line([row.check, row.source, row.expected, row.got]) for row in chosen]
    return "\n".join([_line(HEADINGS[:4]), _line(["---"] * 4), *lines])


def main() -> int:
    """Run the published checks and write the page; returns pytest's exit code."""
    os.environ[SWITCH] = "off"
    seen = Recorded()
    # One process, so that the rows come in the order of the tests. What judges the page cannot make it.
    judge = f"--ignore={PUBLISHED / 'test_published_page.py'}"
    code = int(pytest.main(["-q", "-n0", judge, str(PUBLISHED)], plugins=[seen]))
    if code == 0:
        PAGE.write_text(page_of(seen.rows), encoding="utf-8")
        print(strongest(PAGE.read_text(encoding="utf-8")))
    return code


if __name__ == "__main__":
    sys.exit(main())
