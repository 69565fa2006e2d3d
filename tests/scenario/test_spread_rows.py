"""Many spreads drawn and looked up at once, bit by bit against numpy's own generators and interpolation."""

from functools import partial

import numpy as np
import pytest

from towerpace.draws import stream, streams_of
from towerpace.lots.rows import BUCKETS
from towerpace.scenario.own import OwnSpread
from towerpace.scenario.spread_rows import Row, Run
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


@pytest.mark.parametrize("likely", [0.0, 0.04, 0.5, 0.73, 1.0])
def test_a_beta_pert_is_interpolated_bit_by_bit_as_numpy_does(likely):
    low, high = 3.1, 17.9
    spread = Spread.pert(low=low, likely=low + likely * (high - low), high=high)
    heights = pert_heights((spread.params[1] - low) / (high - low))
    values = Row([Run(np.arange(len(EDGES)), spread)]).quantile(EDGES)

    assert np.array_equal(values, low + (high - low) * np.interp(EDGES, KNOTS, heights))
    assert (values[EDGES == 0] == low).all()
    assert values[EDGES == 1] == pytest.approx(high, abs=1e-12)


SPREADS = [
    Spread.pert(low=6, likely=9, high=18),
    Spread.constant(9),
    Spread.triangular(low=6, likely=9, high=18),
    Spread.pert(low=-0.5, likely=0, high=2),
    Spread.quantiles(p10=6, p50=9, p90=18),
    Spread.pert(low=60, likely=90, high=180),
    Spread.samples([3.5, 6, 5]),
    OwnSpread("squares", version="1", quantile=lambda u: 20 * u**2),
    Spread.pert(low=1, likely=2, high=3),
]
COUNTS = [40, 3, 500, 0, 7, 1, 20, 30, 300]


def test_spreads_of_all_kinds_side_by_side_give_what_each_gives_alone():
    u = np.random.default_rng(5).random(sum(COUNTS))
    parts = np.split(u, np.cumsum(COUNTS)[:-1])
    alone = [spread.quantile(part) for spread, part in zip(SPREADS, parts, strict=True)]

    row = Row([Run(np.arange(k), spread) for spread, k in zip(SPREADS, COUNTS, strict=True)])
    assert np.array_equal(row.quantile(u), np.concatenate(alone))


def items_of(rng):
    """Items of each spread: neighbours from anywhere, with gaps, backwards, twice, in no order."""
    ways = (
        lambda k: np.arange(k) + rng.integers(9),
        lambda k: np.cumsum(rng.integers(1, 4, k)),
        lambda k: np.arange(k)[::-1].copy(),
        lambda k: rng.integers(0, max(k, 1), k),
    )
    return [ways[number % 4](k).astype(np.int64) for number, k in enumerate(COUNTS)]


@pytest.mark.parametrize("trial", [0, 1, 2**40])
def test_lots_drawn_together_are_those_of_numpys_generators(trial):
    """Three streams, one of them of many runs, one read as it is drawn."""
    runs = [
        Run(items, None if k == 3 else spread, f"purpose {k % 3}")
        for k, (items, spread) in enumerate(zip(items_of(np.random.default_rng(trial)), SPREADS, strict=True))
    ]
    expected = []
    for run in runs:
        u = stream(11, trial, run.purpose).random(2000)[run.items]
        expected.append(u if run.spread is None else run.spread.quantile(u))
    row = Row(runs)
    assert np.array_equal(row.drawn(streams_of(11, trial)), np.concatenate(expected))
    assert np.array_equal(row.drawn(partial(stream, 11, trial)), np.concatenate(expected))


def test_a_row_of_nothing_is_empty():
    assert Row([]).quantile(np.zeros(0)).shape == Row([]).drawn(streams_of(1, 1)).shape == (0,)
