"""The functions of the face: numbers of the command line, set-ups of any kind, bad input told at once."""

from __future__ import annotations

import doctest
import inspect
import json
from concurrent.futures import ThreadPoolExecutor
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

import towerpace
from support import command_line
from support.short_tower import write_short_tower
from towerpace.answers.choice.chosen import chosen
from towerpace.faults import InputError
from towerpace.scenario.setups import changed

ROOT = Path(__file__).parents[2]
# One job that takes both hoists at once: they are dismantled together.
TWO_HOISTS = {
    "[resource.hoist]\ncount = 1": "[resource.hoist]\ncount = 2",
    "[closing_in]\n": '[activity.hoists_out]\nwork_h = 9\nneeds = { hoist = 2 }\ncalendar = "site"\n'
    'after = [{ on = "closing_in", level = 2 }]\n[closing_in]\n',
}


def printed(*arguments):
    run = command_line.towerpace(*arguments, "--workers", 1, "--json")
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)


def test_the_command_line_prints_the_comparison_that_python_returns(path, compared):
    assert printed("compare", path, "--trials", 12, "--seed", 3) == compared.to_json()


def test_the_command_line_prints_the_advice_that_python_returns(path, advised):
    said = printed("add", path, "--trials", 20, "--matters", 0.4, "--steps", 2, "--seed", 3)
    assert said == advised.to_json()


@pytest.mark.parametrize("name", ["forecast", "compare", "explain", "add"])
def test_defaults_are_those_of_the_command_line(name):
    asked = inspect.signature(getattr(towerpace, name)).parameters
    typed = inspect.signature(import_module(f"towerpace.cli.{name}").command).parameters
    for here, there in {"trials": "most" if name == "add" else "trials", "seed": "seed"}.items():
        assert asked[here].default == typed[there].default
    if name == "add":
        for option in ("matters", "confidence", "steps"):
            assert asked[option].default == typed[option].default


def test_somebody_elses_executor_gives_the_same_numbers(tower, forecasted, advised):
    with ThreadPoolExecutor(2) as pool:
        again = towerpace.forecast(tower, trials=12, seed=3, executor=pool)
        added = towerpace.add(tower, matters=0.4, trials=20, steps=2, seed=3, executor=pool)
    np.testing.assert_array_equal(again.detail.finish, forecasted.detail.finish)
    assert added.frame().equals(advised.frame())


def test_set_ups_are_named_changed_or_taken_from_elsewhere(tower, path):
    two = {"resource.hoist.count": 2}
    assert [s.name for s in chosen(tower)] == ["base", "second_hoist", "third_crane", "both"]
    assert [s.name for s in chosen(tower, "both")] == ["base", "both"]
    assert [s.name for s in chosen(tower, ["base", "both"])] == ["base", "both"]
    assert [s.name for s in chosen(tower, [str(path)])] == ["base", path.parent.name]
    stated, own, other, ready = (
        chosen(tower, wanted)[1].scenario.hash
        for wanted in (
            ["second_hoist"],
            {"mine": two},
            {"mine": towerpace.load(path, two)},
            [changed(tower, "mine", two)],
        )
    )
    assert stated == own == other == ready != tower.hash


def test_faults_of_all_set_ups_are_told_at_once(tower):
    wanted = {"one": {"resource.hoist.cuont": 2}, "base": {}, "two": {"resource.hoist.count": 0}}
    with pytest.raises(InputError) as refused:
        towerpace.compare(tower, wanted)
    assert [f.key.partition(":")[0] for f in refused.value.faults] == ["one", "two", "setup"]
    assert "found base twice" in str(refused.value)
    assert "nearest: count" in str(refused.value)
    with pytest.raises(InputError, match=r"found bothh; .*nearest: both"):
        towerpace.compare(tower, "bothh")


@pytest.mark.parametrize("wanted", [[], {}, None])
def test_nothing_to_compare_is_refused(tower, wanted):
    bare = towerpace.load(tower.path, {"setup": None})
    with pytest.raises(InputError, match=r"setup: found none; allowed: at least one \[setup\.NAME\]"):
        towerpace.compare(bare, wanted)


def test_numbers_out_of_range_are_told_at_once(tower):
    with pytest.raises(InputError) as refused:
        towerpace.add(tower, matters=float("nan"), confidence=1, trials=19, steps=0, seed=-1, workers=0)
    assert [(f.key, f.found) for f in refused.value.faults] == [
        ("matters", "nan"),
        ("confidence", "1"),
        ("trials", "19"),
        ("steps", "0"),
        ("seed", "-1"),
        ("workers", "0"),
    ]
    for ask in (towerpace.forecast, towerpace.compare, towerpace.explain):
        with pytest.raises(InputError, match="trials: found 0; allowed: at least 1"):
            ask(tower, trials=0)


def test_what_one_job_takes_at_once_is_not_taken_away(tmp_path):
    """Without the second hoist the activity could never be done, and the scenario would be refused."""
    tower = towerpace.load(write_short_tower(tmp_path, replace=TWO_HOISTS))
    with pytest.raises(InputError, match=r"activity\.hoists_out\.needs\.hoist: found 2"):
        changed(tower, "less", {"resource.hoist.count": 1})
    ranking = towerpace.add(tower, trials=20, steps=1).frame()
    less = ranking.loc[ranking["change"] == "-1", "resource"].tolist()
    assert less == ["panel_gang", "floor_crane"]


@pytest.mark.parametrize(
    "name", ["asked", "baseline", "forecast", "use", "compare", "explain", "add", "sweep"]
)
def test_examples_in_the_docstrings_hold(name, monkeypatch, tmp_path):
    monkeypatch.chdir(ROOT)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    tested = doctest.testmod(import_module(f"towerpace.face.{name}"), optionflags=doctest.ELLIPSIS)
    assert tested.failed == 0
    assert tested.attempted > 1
