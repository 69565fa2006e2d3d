"""Numbers and brackets without end: a fault with line and key, at once and without a traceback."""

import re

import pytest

from support.command_line import ROOT
from towerpace.faults import InputError
from towerpace.scenario import load
from towerpace.scenario.size_rules import MOST_STEPS

ONE_HOIST = (ROOT / "scenarios" / "one_hoist" / "scenario.toml").read_text(encoding="utf-8")
LEVELS = (ROOT / "scenarios" / "one_hoist" / "levels.csv").read_text(encoding="utf-8")


def faults(tmp_path, text=ONE_HOIST, levels=LEVELS):
    (tmp_path / "scenario.toml").write_text(text, encoding="utf-8")
    (tmp_path / "levels.csv").write_text(levels, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load(tmp_path / "scenario.toml")
    return caught.value.faults


@pytest.mark.parametrize("number", ["1_000_000_000", "9223372036854775808", "1" + "0" * 400])
def test_a_count_has_an_upper_bound(tmp_path, number):
    text = re.sub(r"(\[resource\.hoist\]\ncount = )1\n", rf"\g<1>{number}\n", ONE_HOIST)
    (fault,) = faults(tmp_path, text)
    line = ONE_HOIST[: ONE_HOIST.index("[resource.hoist]")].count("\n") + 2
    assert (fault.line, fault.key) == (line, "resource.hoist.count")
    assert fault.allowed == "a whole number, at least 0 and at most 100000"


@pytest.mark.parametrize(
    "line",
    [
        "x = " + "[" * 500 + "]" * 500,
        "x = " + "[" * 5000 + "]" * 5000,
        "x = " + "{a=" * 500 + "1" + "}" * 500,
        "[" + ".".join(["a"] * 500) + "]",
        ".".join(["a"] * 500) + " = 1",
    ],
    ids=["brackets", "many brackets", "braces", "header", "key"],
)
def test_what_lies_too_deep_is_a_fault_of_its_line(tmp_path, line):
    (fault,) = faults(tmp_path, f"{ONE_HOIST}\n{line}\n")
    assert fault.line == ONE_HOIST.count("\n") + 2
    assert fault.found == "tables or lists deep within each other"
    assert fault.allowed == "at most 40 of them"


def test_a_plan_of_too_many_steps_names_the_row_and_the_steps(tmp_path):
    levels = LEVELS.replace("2027-03-08,12", "2027-03-08,600000", 1)
    (fault,) = faults(tmp_path, levels=levels)
    steps = 20 + 2 * (600_000 + 19 * 12)
    assert steps > MOST_STEPS
    assert (fault.line, fault.key, fault.found) == (2, "flat", "600,000 panels")
    assert fault.allowed == f"a plan of at most 1,000,000 steps; this one would have {steps:,} or more"
