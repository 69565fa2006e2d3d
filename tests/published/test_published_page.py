"""The page of published checks is what the tests record: a row that differs or that nobody records fails."""

import os
import subprocess
import sys
from dataclasses import astuple
from pathlib import Path

import pytest

from support import published_page
from support.estimates import Estimate
from support.published_page import PAGE, PUBLISHED, THEMES, Row, Stand, page_of, rows_of, strongest

ROW = Row("sail", "a check", "a source", "2.5, crane", "2.4996, crane", "0.001")


@pytest.fixture
def page(tmp_path, monkeypatch):
    """A page of one row in place of the true one."""
    path = tmp_path / "README.md"
    path.write_text(page_of([ROW]), encoding="utf-8")
    monkeypatch.setattr(published_page, "PAGE", path)
    monkeypatch.delenv(published_page.SWITCH, raising=False)
    return path


def stood(*, expected=(2.5, "crane"), got=(2.4996, "crane"), source="a source"):
    kept = []
    Stand("sail", lambda key, row: kept.append((key, row)))(
        "a check", source, expected=expected, got=got, within=1e-3
    )
    return kept


@pytest.mark.usefixtures("page")
def test_a_row_that_is_on_the_page_passes_and_is_recorded():
    assert stood() == [(published_page.KEY, astuple(ROW))]


@pytest.mark.usefixtures("page")
@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"got": (2.498, "crane")}, "expected 2.5, crane, got 2.4980, crane, tolerance 0.001"),
        ({"got": (2.5, "hoist")}, "got 2.5000, hoist"),
        ({"got": (2.5, "crane")}, "writes it anew"),
        ({"source": "another"}, "writes it anew"),
    ],
)
def test_what_is_not_expected_or_not_on_the_page_fails(changes, said):
    with pytest.raises(AssertionError, match=said):
        stood(**changes)


@pytest.mark.usefixtures("page")
def test_an_estimate_stands_within_four_standard_errors_or_fails():
    stand = Stand("sail", lambda *_: None)
    with pytest.raises(AssertionError, match=r"expected 1, got 1\.42, tolerance 4 se = 0\.4"):
        stand("an estimate", "a source", expected=1, got=Estimate(1.42, 0.1), sees=0.5)
    with pytest.raises(AssertionError, match=r"expected at least 1, got 0\.58, tolerance 4 se = 0\.4"):
        stand.at_least("a bound", "a source", expected=1, got=Estimate(0.58, 0.1))


def test_a_check_recorded_twice_is_refused():
    with pytest.raises(ValueError, match="recorded twice: sail: a check"):
        page_of([ROW, ROW])


def test_the_page_has_rows_of_every_theme_and_each_theme_its_file():
    rows = rows_of(PAGE.read_text(encoding="utf-8"))
    assert {theme for theme, _ in rows} == set(THEMES)
    assert [theme for theme in THEMES if not (PUBLISHED / f"test_{theme}.py").is_file()] == []
    assert len(strongest(PAGE.read_text(encoding="utf-8")).splitlines()) == 2 + 10


@pytest.mark.parametrize("workers", ["0", "2"])
def test_a_row_that_no_test_records_fails_a_whole_run(tmp_path, workers):
    """The guard on a folder of one test, with a page of one row more."""
    tests = Path(__file__).parents[1]
    (tmp_path / "test_sail.py").write_text(
        "def test_it(stand):\n    stand('a check', 'a source', expected=2, got=2)\n", encoding="utf-8"
    )
    rows = [Row("sail", "a check", "a source", "2", "2", "equal")]
    page = tmp_path / "README.md"
    guard = f"""import sys
from pathlib import Path
sys.path.insert(0, {str(tests)!r})
from support import published_page
published_page.PAGE, published_page.PUBLISHED = Path({str(page)!r}), Path({str(tmp_path)!r})
published_page.THEMES = {{"sail": "Sail"}}
"""
    future = "from __future__ import annotations\n"
    parts = [(folder / "conftest.py").read_text(encoding="utf-8") for folder in (tests, PUBLISHED)]
    conftest = "\n".join([future + guard, *parts[:1], parts[1].replace(future, "")])
    (tmp_path / "conftest.py").write_text(conftest, encoding="utf-8")
    options = ["-q", "-n", workers, "-p", "no:cacheprovider"]
    command = [sys.executable, "-m", "pytest", *options, str(tmp_path)]
    environment = {key: value for key, value in os.environ.items() if key != published_page.SWITCH}
    codes = []
    for left_over in ([], [Row("sail", "old", "a source", "2", "2", "equal")]):
        page.write_text(page_of([*rows, *left_over]), encoding="utf-8")
        done = subprocess.run(
            command, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False
        )
        codes.append((done.returncode, "has rows no test records" in done.stdout))
    assert codes == [(0, False), (1, True)]
