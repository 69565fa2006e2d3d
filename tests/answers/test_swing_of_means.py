"""Swings of what is drawn for many items: the mean is moved by its own spread. Truths in closed form."""

from __future__ import annotations

import pytest

from support.line_site import LineTrade, write_line
from towerpace.answers.bid.swings import items_of, ranges_of, spreads_of, swings
from towerpace.answers.prepare import prepare
from towerpace.scenario import load
from towerpace.scenario.spreads import Z90, Spread

LAW, FLOORS, DAY = (600, 1200, 3000), 16, 1440
KEY, PACE = "trade.trade_1.unit_min", "trade.trade_1.pace"


@pytest.fixture(scope="module")
def line(tmp_path_factory):
    """One crew goes up the floors: the finish is the sum of all minutes, times the pace."""
    return load(
        write_line(
            tmp_path_factory.mktemp("line"), trades=[LineTrade({"x": 1}, LAW)], counts={"x": 1}, floors=FLOORS
        )
    )


def test_the_items_of_every_spread_are_counted(line):
    assert items_of(prepare(line)) == {KEY: FLOORS, PACE: 1}
    ranges = {r.key: r for r in ranges_of(line.settings, items_of(prepare(line)))}
    assert ranges[KEY].how == "P10 and P90 of the mean of 16"
    assert ranges[PACE].how == "its P10 and P90"
    assert ranges_of(line.settings)[0].how.endswith("for all of them at once")


def test_the_mean_is_moved_by_its_own_spread(line):
    """The sum of 16 items spreads by 4 deviations of one; P10 to P90 is 2 x 1.28 of that, nearly normal."""
    spread, pace = (spreads_of(line.settings)[key] for key in (KEY, PACE))
    found = {swing.range.key: swing for swing in swings(line, seed=1, trials=200)}
    of_items = 2 * Z90 * spread.sd() * FLOORS**0.5 * pace.mean() / DAY
    assert found[KEY].width == pytest.approx(of_items, rel=0.03)
    low, high = (float(value) for value in pace.quantile([0.1, 0.9]))
    assert found[PACE].width == pytest.approx((high - low) * FLOORS * spread.mean() / DAY, rel=0.03)
    assert found[PACE].width > found[KEY].width


@pytest.mark.parametrize(
    "spread",
    [
        Spread.pert(low=1, likely=2, high=5),
        Spread.triangular(low=-1, likely=0, high=4),
        Spread.quantiles(p10=10, p50=20, p90=40),
        Spread.samples([1, 2, 2, 7]),
    ],
)
def test_a_shifted_spread_keeps_its_shape_and_can_be_stated(spread):
    moved = spread.shifted(0.5)
    assert moved.mean() == pytest.approx(spread.mean() + 0.5)
    assert moved.sd() == pytest.approx(spread.sd())
    assert isinstance(moved.stated(), dict)


def test_the_deviation_of_a_triangle_is_that_of_the_textbook():
    """sqrt((a^2 + b^2 + c^2 - ab - ac - bc) / 18), Law, Simulation Modeling and Analysis (from memory)."""
    assert Spread.triangular(low=0, likely=3, high=9).sd() == pytest.approx(((90 - 27) / 18) ** 0.5, rel=1e-3)
