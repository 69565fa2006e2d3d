"""Many spreads looked up at once, bit by bit against numpy's own interpolation and search."""

import numpy as np
import pytest

from towerpace.scenario.spread_rows import BUCKETS, SpreadRow, knots_below
from towerpace.scenario.spreads import Spread, pert_heights, pert_knots

KNOTS = pert_knots()
# On every knot, beside every knot, on every start of a bucket, both ends, and anywhere.
EDGES = np.concatenate(
    [
        KNOTS,
        np.nextafter(KNOTS[1:], 0),
        np.nextafter(KNOTS[:-1], 1),
        np.arange(BUCKETS + 1) / BUCKETS,
        [0.0, 5e-324, 1e-19, 1 - 2**-53, 1.0],
        np.random.default_rng(17).random(50_000),
    ]
)


def test_the_knot_below_is_the_one_that_numpy_finds():
    assert np.array_equal(knots_below(EDGES), np.searchsorted(KNOTS, EDGES, side="right") - 1)


@pytest.mark.parametrize("likely", [0.0, 0.04, 0.5, 0.73, 1.0])
def test_a_beta_pert_is_interpolated_bit_by_bit_as_numpy_does(likely):
    low, high = 3.1, 17.9
    spread = Spread.pert(low=low, likely=low + likely * (high - low), high=high)
    heights = pert_heights((spread.params[1] - low) / (high - low))
    found = SpreadRow([spread], counts=[len(EDGES)]).quantile(EDGES)

    assert np.array_equal(found, low + (high - low) * np.interp(EDGES, KNOTS, heights))
    assert (found[EDGES == 0] == low).all()
    assert found[EDGES == 1] == pytest.approx(high, abs=1e-12)


def test_spreads_of_all_kinds_side_by_side_give_what_each_gives_alone():
    spreads = [
        Spread.pert(low=6, likely=9, high=18),
        Spread.constant(9),
        Spread.triangular(low=6, likely=9, high=18),
        Spread.pert(low=-0.5, likely=0, high=2),
        Spread.quantiles(p10=6, p50=9, p90=18),
        Spread.pert(low=60, likely=90, high=180),
        Spread.samples([3.5, 6, 5]),
        Spread.pert(low=1, likely=2, high=3),
    ]
    counts = [40, 3, 500, 0, 7, 1, 20, 300]
    u = np.random.default_rng(5).random(sum(counts))
    alone = [
        spread.quantile(part)
        for spread, part in zip(spreads, np.split(u, np.cumsum(counts)[:-1]), strict=True)
    ]

    assert np.array_equal(SpreadRow(spreads, counts=counts).quantile(u), np.concatenate(alone))


def test_a_row_of_nothing_is_empty():
    assert SpreadRow([], counts=[]).quantile(np.zeros(0)).shape == (0,)


def test_a_count_for_each_spread_is_asked_for():
    with pytest.raises(ValueError, match="zip"):
        SpreadRow([Spread.constant(1)], counts=[1, 2])
