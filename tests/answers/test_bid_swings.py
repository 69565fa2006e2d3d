"""One number at a time: both ends on the same draws, limits never above the maker's."""

from pathlib import Path

import numpy as np
import pytest

from support.small_site import written
from towerpace.answers.bid.swings import ranges_of, spreads_of, swing_trials, swings
from towerpace.scenario import load

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SPREAD = "{ low = 2, likely = 6, high = 13, shape = 'triangular' }"
TWO_TRADES = """
[activity.crown]
days = 3
[activity.survey]
days = { low = 1, likely = 1.5, high = 2, shape = "triangular" }
[activity.parapet]
days = { p10 = 10, p50 = 20, p90 = 40 }
after = [{ on = "crown" }]
"""


@pytest.fixture(scope="module")
def scenario(tmp_path_factory):
    return load(written(tmp_path_factory.mktemp("swings"), TWO_TRADES))


def test_every_spread_of_a_scenario_is_found_by_its_key(scenario):
    assert set(spreads_of(scenario.settings)) == {"activity.survey.days", "activity.parapet.days"}


def test_keys_found_are_keys_that_can_be_changed():
    scenario = load(SCENARIOS / "one_hoist" / "scenario.toml")
    for one in ranges_of(scenario.settings):
        load(scenario.path, {one.key: one.low})


def test_the_one_that_moves_the_finish_comes_first_and_by_how_much(scenario):
    """The parapet alone ends the job: at its P10 every trial ends on day 13, at its P90 on day 43."""
    found = swings(scenario, seed=1, trials=12)
    first, second = found

    assert first.range.key == "activity.parapet.days"
    ends = [side.days.mean for side in (first.low, first.high)]
    assert ends[1] - ends[0] == pytest.approx(30)
    assert (first.verdict, first.width) == ("moves", pytest.approx(30))
    assert (second.range.key, second.verdict, second.width) == ("activity.survey.days", "no effect", 0)
    assert second.low.same == 12


def test_trials_are_counted_before_they_are_played(scenario):
    played = []
    swings(scenario, seed=1, trials=4, on_done=played.append)
    assert sum(played) == swing_trials(ranges_of(scenario.settings), trials=4) == 4 * 5


@pytest.mark.parametrize(
    ("makers", "high", "remark"),
    [
        (None, None, "not raised: no maker's limit is stated"),
        (12.5, 12.0, ""),
        (11.4, 11.4, ""),
        (11.0, None, "not raised: it stands at the maker's limit"),
    ],
)
def test_a_wind_limit_is_never_raised_above_the_makers(makers, high, remark, tmp_path):
    """The limit stands at 11 m/s."""
    folder = SCENARIOS / "by_hand"
    text = (folder / "scenario.toml").read_text(encoding="utf-8")
    text = text.replace("../weather", (SCENARIOS / "weather").as_posix())
    text = text.replace(
        "[limit.lift]\n", "[limit.lift]\n" + (f"maker_limit_m_s = {makers}\n" if makers else "")
    )
    (tmp_path / "scenario.toml").write_text(text, encoding="utf-8")
    (tmp_path / "levels.csv").write_bytes((folder / "levels.csv").read_bytes())
    settings = load(tmp_path / "scenario.toml").settings
    (limit,) = [one for one in ranges_of(settings) if one.key == "limit.lift.wind_above_m_s"]
    assert (limit.low, limit.high, limit.remark) == (10.0, high, remark)


def test_shares_and_chances_move_by_a_stated_step_and_stay_possible():
    settings = load(SCENARIOS / "by_hand" / "scenario.toml").settings
    found = {one.key: (one.low, one.high) for one in ranges_of(settings)}
    # The share of the hoist is 1 there and no truck is ever late.
    assert found["hoist.share"] == (pytest.approx(0.9), None)
    assert found["delivery.late_chance"] == (None, 0.1)


def test_a_value_that_the_rules_refuse_is_told_and_not_played(tmp_path):
    """Drying in the cold is stated as 20 h, so drying cannot be longer than that."""
    coats = """
[trade.paint]
kind = "gang"
column = "flat"
unit_min = 5
coats = 2
drying_h = { low = 10, likely = 16, high = 40, shape = "pert" }
drying_cold_h = 20
cold_months = ["dec", "jan"]
needs = { tower_crane = 1 }
calendar = "site"
after = [{ on = "brackets" }]
"""
    scenario = load(written(tmp_path, coats))
    (found,) = swings(scenario, seed=1, trials=3)
    assert found.high is None
    assert found.low is not None
    assert "refused" in found.remark
    assert "at least the mean of drying_h" in found.remark
    assert np.isfinite(found.width)


def test_a_value_with_which_no_plan_can_be_carried_out_is_told_and_not_played(tmp_path):
    """A lift of 600 min, the P90, does not end within a shift of 480."""
    lift = """
[activity.crown]
lifts = 1
lift_min = { p10 = 100, p50 = 200, p90 = 600 }
calendar = "site"
"""
    (found,) = swings(load(written(tmp_path, lift)), seed=1, trials=3)
    assert (found.range.key, found.high) == ("activity.crown.lift_min", None)
    assert found.low is not None
    assert "could never start" in found.remark
