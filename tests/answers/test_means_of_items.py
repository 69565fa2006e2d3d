"""Swings of many items move their mean by its own spread."""

import numpy as np
import pytest

from support.small_site import made
from towerpace.answers.bid.means_of_items import ends_of_mean
from towerpace.answers.bid.swings import ranges_of, ranges_of_means
from towerpace.scenario.spreads import Spread

BOARDS = """
[trade.boards]
kind = "gang"
column = "flat"
unit_min = { low = 0, likely = 30, high = 60, shape = "triangular" }
needs = { tower_crane = 1 }
calendar = "site"
after = [{ on = "brackets" }]
"""
LEVELS = "level,zone,height_m,difficulty,handover,brackets,flat,curved\n" + "".join(
    f"{k},north,{4 * k},1.0,2027-03-01,10,1,3\n" for k in range(1, 17)
)


def test_the_mean_of_a_hundred_items_spreads_by_a_tenth():
    """A symmetric triangle from 0 to 60 has the deviation 60 / sqrt(24)."""
    spread = Spread.triangular(low=0, likely=30, high=60)
    low, high = ends_of_mean(spread, items=100)
    half = 1.28155 * 60 / np.sqrt(24) / 10
    assert (low, high) == (pytest.approx(30 - half, rel=1e-3), pytest.approx(30 + half, rel=1e-3))


def test_sixteen_equal_items_move_by_a_quarter_of_the_deviation_of_one(tmp_path):
    ready = made(tmp_path, BOARDS, levels=LEVELS)
    (one,) = [r for r in ranges_of(ready.scenario.settings) if r.key == "trade.boards.unit_min"]
    (mean,) = [r for r in ranges_of_means(ready) if r.key == "trade.boards.unit_min"]
    assert mean.how == "P10 and P90 of the mean of 16 items"
    assert mean.high - 30 == pytest.approx(1.28155 * 60 / np.sqrt(24) / 4, rel=1e-3)
    assert mean.high < one.high
