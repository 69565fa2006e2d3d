"""The page of scenarios cannot rot: its commands run, their outputs are true, its folders are there."""

import re
from pathlib import Path

import pytest

from towerpace.scenario import load

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "scenarios" / "README.md").read_text(encoding="utf-8")
OF_OUR_OWN = ("mast_climbers", "occupied_tower", "tower_crane")


def test_every_folder_is_in_the_table_and_there():
    folders = {path.name for path in (ROOT / "scenarios").iterdir() if path.is_dir()} - {"__pycache__"}

    assert set(re.findall(r"^\| `(\w+)` \|", PAGE, flags=re.MULTILINE)) == folders


@pytest.mark.parametrize("name", OF_OUR_OWN)
def test_every_number_has_a_source_and_every_set_up_is_a_scenario(name):
    path = ROOT / "scenarios" / name / "scenario.toml"
    scenario = load(path)

    assert scenario.sources_missing() == []
    assert "The question: " in path.read_text(encoding="utf-8")
