"""The page of the manual on bringing files in: its examples are those of the demo, and fit a terminal."""

import re
import shlex
import tomllib
from pathlib import Path

from support.refresh_docs import ROOT, blocks
from towerpace.scenario.levels import levels_from
from towerpace.scenario.tables import read_table

PAGE = ROOT / "scenarios" / "manual" / "bring.md"
FILES = ROOT / "scenarios" / "manual" / "bring"
DEMO = ROOT / "scenarios" / "gannet_wharf"


def words_of(kind):
    """Words of the page's first command of a kind, with whole paths."""
    block = next(b for b in blocks(PAGE.read_text()) if f"bring {kind} " in b.command)
    words = shlex.split(block.command)[2:]
    return [str(ROOT / word) if word.startswith("scenarios/") else word for word in words]


def test_the_planners_workbook_of_the_page_is_the_level_table_of_the_demo(bring):
    bring(*words_of("levels"))
    got, faults = levels_from(read_table(Path("levels.csv"), shown_as="levels.csv"))
    expected, _ = levels_from(read_table(DEMO / "levels.csv", shown_as="levels.csv"))
    assert faults == []
    assert got.rows() == expected.rows()


def test_the_calendar_of_the_page_has_the_days_off_of_the_demo(bring):
    bring(*words_of("calendar"))
    got = tomllib.loads(Path("calendar.toml").read_text())
    expected = tomllib.loads((DEMO / "scenario.toml").read_text())["calendar"]["site"]
    assert got["closed"] == expected["closed"]
    spans = [{key: span[key] for key in ("from", "to")} for span in got["closed_spans"]]
    assert spans == expected["closed_spans"]


def test_the_lines_of_the_page_fit_a_terminal_of_80_columns():
    """Commands and faults may be longer: they are wrapped by the terminal."""
    for block in blocks(PAGE.read_text()):
        if "faults\n" not in block.output:
            assert [line for line in block.output.splitlines() if len(line) > 80] == []


def test_every_kind_and_format_has_its_place_on_the_page():
    from towerpace.bring.weather.formats import FORMATS
    from towerpace.cli.bring import Form, app

    text = PAGE.read_text()
    assert [form.value for form in Form] == list(FORMATS)
    named = [f"`{command.name}`" for command in app.registered_commands] + [f"`{name}`" for name in FORMATS]
    assert [name for name in named if name not in text] == []
    for command in app.registered_commands:
        assert re.search(f"bring {command.name} ", text)
