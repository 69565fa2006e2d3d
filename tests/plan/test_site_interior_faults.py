"""Faults of the water test and of keys of the interior: the one line that a user reads."""

import pytest

from support.broken_once import faults, faults_of_broken
from support.small_site import BASE, written
from towerpace.faults import InputError
from towerpace.scenario import load

CASES = {
    "more tested levels than levels": (
        "levels = 2",
        "levels = 4",
        "water_test.levels: found 4; allowed: at most 3, the levels of the tower",
    ),
    "units and classes": (
        "coats = 3",
        'coats = 3\ncolumn = "flat"',
        'trade.joints.column: found "flat"; allowed: no column beside classes, which say it each',
    ),
    "class of an unknown column": (
        'column = "curved"',
        'column = "curvd"',
        'trade.joints.classes.curved.column: found "curvd"; '
        "allowed: a count column of {table}: brackets, flat, curved; nearest: curved",
    ),
    "coats that need no drying": (
        'drying_h = 19\ndrying_cold_h = 48\ncold_months = ["nov", "dec", "jan"]',
        "",
        "trade.joints.drying_h: missing; allowed: a number or a spread at least 0, between the coats",
    ),
    "drying of one coat": (
        "coats = 3",
        "",
        "trade.joints.drying_h: found 19; allowed: drying_h only with coats above 1",
    ),
    "cold without months": (
        'cold_months = ["nov", "dec", "jan"]',
        "",
        "trade.joints.cold_months: missing; allowed: both of drying_cold_h and cold_months, or neither",
    ),
    "a month misspelt": (
        '"dec", "jan"]',
        '"dez", "jan"]',
        'trade.joints.cold_months[1]: found "dez"; '
        'allowed: "jan" or "feb" or "mar" or "apr" or "may" or "jun" or "jul" or '
        '"aug" or "sep" or "oct" or "nov" or "dec"; nearest: dec',
    ),
    "cold that dries faster": (
        "drying_cold_h = 48",
        "drying_cold_h = 12",
        "trade.joints.drying_cold_h: found 12; "
        "allowed: at least the mean of drying_h, which is 19 and must be above 0",
    ),
}


@pytest.mark.parametrize(("old", "new", "text"), CASES.values(), ids=CASES)
def test_one_broken_passage_gives_one_line(tmp_path, old, new, text):
    assert faults_of_broken(tmp_path, old, new) == [text.replace("{table}", str(tmp_path / "levels.csv"))]


@pytest.mark.parametrize("key", ["column", "unit_min"])
def test_a_gang_trade_without_classes_needs_its_units(tmp_path, key):
    lines = [line for line in BASE.split("\n") if not line.startswith(f"{key} =")]
    path = written(tmp_path, base="\n".join(lines))
    with pytest.raises(InputError) as caught:
        load(path)

    assert [fault.key for fault in caught.value.faults] == [f"trade.brackets.{key}"]
    assert caught.value.faults[0].found == "missing"


def test_tests_at_closing_in_need_a_water_test(tmp_path):
    toml = '[closing_in]\ntrades = ["brackets"]\ntests = true\n'

    assert faults(tmp_path, toml) == [
        "closing_in.tests: found true; allowed: tests only with a table [water_test]"
    ]
