"""Assumptions by what their sources are worth."""

import re
from pathlib import Path

import pytest

from scenario.minimal_scenario import write_every_table
from towerpace.scenario import load
from towerpace.scenario.assumptions import KINDS, counts_by_kind, kind_of

DEMO = Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "scenario.toml"


@pytest.mark.parametrize(
    ("source", "kind"),
    [
        ("", "blank"),
        ("  ", "blank"),
        ("29 CFR 1926.752", "published"),
        ("60 m/min, published hoist data", "published"),
        ("sum of a setting cycle, from memory", "memory"),
        ("From memory of ASTM C1193", "memory"),
        ("common practice, no source: joints must be dry", "practice"),
        ("no source", "practice"),
        ("default of the program", "practice"),
        ("invented for the demo", "invented"),
        # The weakest word stands.
        ("invented for the demo; 1 to 5 days of panels, common practice, no source", "invented"),
        ("invented for the demo; 5 to 60 gang-days, from memory", "invented"),
        ("common practice, no source; 3 to 8 % from memory", "practice"),
        ("CPA TIN 101 (20 m/s; from memory)", "memory"),
    ],
)
def test_a_source_is_worth_what_it_says_of_itself(source: str, kind: str):
    assert kind_of(source) == kind


def test_the_counts_of_the_demo_add_up_and_none_is_called_sourced_that_is_not():
    assumptions = load(DEMO).assumptions()
    counts = counts_by_kind(assumptions)
    assert tuple(counts) == KINDS
    assert sum(counts.values()) == len(assumptions)
    plain = [one for one in assumptions if not re.search("invented|memory|practice|no source", one.source)]
    assert counts["published"] == len(plain)
    assert counts["blank"] == 0
    assert counts["practice"] == sum(
        "no source" in one.source and "invented" not in one.source for one in assumptions
    )
    assert min(counts["published"], counts["memory"], counts["practice"], counts["invented"]) > 0


def test_what_has_no_source_is_blank(here: Path):
    scenario = load(write_every_table(here))
    assert counts_by_kind(scenario.assumptions())["blank"] == len(scenario.sources_missing()) > 0
