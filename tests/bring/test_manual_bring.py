"""Pages of the manual on bringing files in: their examples are those of the demo, each kind has a page."""

import re
import shlex
import tomllib
from pathlib import Path

from support.pages import ROOT, blocks
from towerpace.scenario.levels import levels_from
from towerpace.scenario.tables import read_table

MANUAL = ROOT / "scenarios" / "manual"
DEMO = ROOT / "scenarios" / "gannet_wharf"
PAGE_OF = {"levels": "levels", "calendar": "calendars", "weather": "weather", "quantities": "models"}


def page_of(kind):
    return (MANUAL / f"{PAGE_OF[kind]}.md").read_text(encoding="utf-8")


def words_of(kind):
    """Words of the page's first command of a kind that brings something in, with whole paths."""
    block = next(
        b for b in blocks(page_of(kind)) if f"bring {kind} " in b.command and "Written: " in b.output
    )
    words = shlex.split(block.command)[2:]
    return [str(ROOT / word) if word.startswith("scenarios/") else word for word in words]


def test_the_planners_workbook_of_34_levels_is_the_level_table_of_the_demo_by_one_command(bring):
    bring(*words_of("levels"))
    got, faults = levels_from(read_table(Path("levels.csv"), shown_as="levels.csv"))
    expected, _ = levels_from(read_table(DEMO / "levels.csv", shown_as="levels.csv"))
    assert faults == []
    assert got.rows() == expected.rows()
    assert len(got.levels) == 34


def test_the_calendar_of_the_page_has_the_days_off_of_the_demo(bring):
    bring(*words_of("calendar"))
    got = tomllib.loads(Path("calendar.toml").read_text())
    expected = tomllib.loads((DEMO / "scenario.toml").read_text())["calendar"]["site"]
    assert got["closed"] == expected["closed"]
    spans = [{key: span[key] for key in ("from", "to")} for span in got["closed_spans"]]
    assert spans == expected["closed_spans"]


def test_every_kind_and_format_has_its_place_on_its_page():
    from towerpace.bring.weather.formats import FORMATS
    from towerpace.cli.bring import Form, app

    assert [form.value for form in Form] == list(FORMATS)
    assert [command.name for command in app.registered_commands] == list(PAGE_OF)
    assert [name for name in FORMATS if f"`{name}`" not in page_of("weather")] == []
    for kind in PAGE_OF:
        assert re.search(f"bring {kind} ", page_of(kind))
