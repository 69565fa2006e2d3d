"""The page of all keys, and the command that tells them."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from towerpace.cli.app import app
from towerpace.start.keys_page import page

PAGE = Path(__file__).parents[2] / "scenarios" / "keys.md"


def told(*words: str) -> str:
    run = CliRunner().invoke(app, ["keys", *words])
    assert run.exit_code == 0, run.output
    return run.stdout


def test_the_page_in_the_repository_is_current():
    assert PAGE.read_text(encoding="utf-8") == page(), "towerpace keys --page > scenarios/keys.md"


def test_every_table_of_the_page_has_as_many_cells_in_each_row():
    rows = [line for line in page().split("\n") if line.startswith("|")]
    widths = {line.count("|") for line in rows if line.startswith("| `") and "always" in line}

    assert len(rows) > 250
    assert widths == {8}


def test_without_a_prefix_the_tables_are_listed():
    assert "[tower]" in told()
    assert "[[risk]]" in told()


def test_a_key_is_told_with_unit_bounds_and_example():
    assert told("hoist.speed_m_s") == (
        "hoist.speed_m_s  [m/s]\n"
        "  Full speed of a car.\n"
        "  Allowed: a number above 0; needed always.\n"
        "    speed_m_s = 1.0\n"
    )


@pytest.mark.parametrize("words", [["--schema"], ["--page"], ["--json"], ["trade"], ["limit.lift", "--json"]])
def test_every_way_of_asking_is_answered(words):
    assert len(told(*words)) > 500
