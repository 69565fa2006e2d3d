"""Spreads against scipy.stats and against published moments."""

import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from towerpace.scenario.spreads import Spread

PROBABILITIES = np.unique(
    np.concatenate(
        [np.geomspace(1e-18, 0.5, 4001), 1 - np.geomspace(1e-15, 0.5, 4001), np.linspace(0, 1, 8001)]
    )
)
# Largest error of the interpolated beta-PERT table, as a share of the range; measured 4.85e-5.
TABLE_ERROR = 5e-5

# Mean and standard deviation of the triangular and the beta-PERT law for (low, likely, high).
# Formulas: Malcolm, Roseboom, Clark & Fazar 1959, Oper. Res. 7:646-669; D. Vose, Risk Analysis (modified
# PERT, weight 4, variance (mean - low)(high - mean) / 7). Values computed from these formulas, five digits.
MOMENTS = [
    ((2, 3.5, 8), (4.5, 1.27475), (4.0, 1.06904)),
    ((6, 9, 18), (11.0, 2.54951), (10.0, 2.13809)),
    ((1, 4.5, 5), (3.5, 0.88976), (4.0, 0.65465)),
    ((10, 12, 20), (14.0, 2.16025), (13.0, 1.73205)),
]


def moments(spread: Spread) -> tuple[float, float]:
    """Mean and standard deviation of the quantile function by the midpoint rule on a fine grid."""
    values = spread.quantile((np.arange(400_000) + 0.5) / 400_000)
    return float(values.mean()), float(values.std())


@pytest.mark.parametrize(("stated", "triangular", "pert"), MOMENTS)
def test_mean_and_deviation_are_the_published_ones(stated, triangular, pert):
    low, likely, high = stated
    for make, expected in ((Spread.triangular, triangular), (Spread.pert, pert)):
        spread = make(low=low, likely=likely, high=high)
        assert moments(spread) == pytest.approx(expected, abs=5e-5)
        assert spread.mean() == pytest.approx(expected[0], abs=1e-9)


def test_p10_p50_p90_of_ten_twelve_twenty_are_the_published_ones():
    """Triangular by hand from its distribution function, beta-PERT from scipy.stats.beta; four decimals."""
    u = np.array([0.1, 0.5, 0.9])
    triangular = Spread.triangular(low=10, likely=12, high=20).quantile(u)
    pert = Spread.pert(low=10, likely=12, high=20).quantile(u)

    assert triangular == pytest.approx([11.4142, 13.6754, 17.1716], abs=5e-5)
    assert pert == pytest.approx([10.8990, 12.7667, 15.4533], abs=2e-4)


@pytest.mark.parametrize("likely", [0.0, 0.01, 0.1, 0.25, 0.5, 0.7, 0.95, 1.0])
def test_beta_pert_is_the_scipy_beta_within_the_stated_table_error(likely: float):
    spread = Spread.pert(low=0, likely=likely, high=1)
    exact = stats.beta.ppf(PROBABILITIES, 1 + 4 * likely, 5 - 4 * likely)

    assert np.abs(spread.quantile(PROBABILITIES) - exact).max() < TABLE_ERROR


@pytest.mark.parametrize("likely", [0.0, 0.3, 1.0])
def test_triangular_is_the_scipy_triangular(likely: float):
    spread = Spread.triangular(low=2, likely=2 + 5 * likely, high=7)
    exact = stats.triang.ppf(PROBABILITIES, likely, loc=2, scale=5)

    assert spread.quantile(PROBABILITIES) == pytest.approx(exact, abs=1e-9)


def test_right_skewed_quantiles_are_a_shifted_scipy_lognormal():
    """Ratio of the arms 3, so exp(g z90) = 3, scale 9 / (3 - 1) = 4.5, shift 9 - 4.5."""
    u = np.linspace(0.001, 0.999, 997)
    shape = np.log(3) / stats.norm.ppf(0.9)
    exact = stats.lognorm(shape, loc=4.5, scale=4.5)
    spread = Spread.quantiles(p10=6, p50=9, p90=18)

    assert spread.quantile(u) == pytest.approx(exact.ppf(u), rel=1e-12)
    assert spread.mean() == pytest.approx(exact.mean(), rel=1e-12)
    assert spread.low == pytest.approx(4.5)
    assert spread.high is None


def test_left_skewed_quantiles_mirror_right_skewed_ones():
    u = np.linspace(0.001, 0.999, 997)
    left = Spread.quantiles(p10=-18, p50=-9, p90=-6)
    right = Spread.quantiles(p10=6, p50=9, p90=18)

    assert left.quantile(u) == pytest.approx(-right.quantile(1 - u), rel=1e-12)
    assert left.mean() == pytest.approx(-right.mean())
    assert (left.low, left.high) == (None, pytest.approx(-4.5))


def test_symmetric_quantiles_are_a_normal_law():
    u = np.linspace(0.001, 0.999, 997)
    spread = Spread.quantiles(p10=0.1, p50=0.2, p90=0.3)
    exact = stats.norm(0.2, 0.1 / stats.norm.ppf(0.9))

    assert spread.quantile(u) == pytest.approx(exact.ppf(u), abs=1e-12)
    assert (spread.mean(), spread.low, spread.high) == (0.2, None, None)


@settings(max_examples=100, deadline=None)
@given(
    p50=st.floats(-100, 100),
    below=st.floats(0.01, 50),
    ratio=st.floats(0.2, 5),
)
def test_stated_quantiles_are_met_exactly(p50: float, below: float, ratio: float):
    stated = [p50 - below, p50, p50 + below * ratio]
    spread = Spread.quantiles(p10=stated[0], p50=stated[1], p90=stated[2])

    assert spread.quantile(np.array([0.1, 0.5, 0.9])) == pytest.approx(stated, abs=1e-6)


def test_samples_are_straight_lines_through_numpy_sample_quantiles():
    """numpy.quantile with method "linear"; its mean over u by the midpoint rule is the mean of the spread."""
    samples = np.random.default_rng(3).gamma(3.0, 2.0, 57)
    spread = Spread.samples(samples)
    u = np.linspace(0, 1, 10_001)

    assert spread.quantile(u) == pytest.approx(np.quantile(samples, u, method="linear"))
    assert spread.mean() == pytest.approx(moments(spread)[0], rel=1e-6)
    assert (spread.low, spread.high) == (samples.min(), samples.max())


SPREADS = [
    Spread.constant(9, source="s"),
    Spread.pert(low=6, likely=9, high=18),
    Spread.pert(low=0, likely=0, high=72),
    Spread.triangular(low=6, likely=9, high=18),
    Spread.quantiles(p10=6, p50=9, p90=18),
    Spread.quantiles(p10=6, p50=9, p90=12),
    Spread.quantiles(p10=6, p50=9, p90=10),
    Spread.samples([3.5, 6, 5]),
]


@pytest.mark.parametrize("spread", SPREADS, ids=Spread.describe)
def test_a_spread_never_falls_keeps_its_bounds_and_survives_pickling(spread: Spread):
    values = spread.quantile(PROBABILITIES[1:-1])

    assert (np.diff(values) >= 0).all()
    assert spread.low is None or values[0] >= spread.low
    assert spread.high is None or values[-1] <= spread.high
    assert spread.quantile(np.full((2, 3), 0.4)).shape == (2, 3)
    restored = pickle.loads(pickle.dumps(spread))
    assert restored == spread
    assert np.array_equal(restored.quantile(PROBABILITIES[1:-1]), values)
    assert len(pickle.dumps(spread)) < 250


def test_a_negligible_tail_below_zero_is_cut_off_and_a_larger_one_refused():
    """Normal law with z of zero at -5: a share of 2.87e-7 lies below 0 (scipy.stats.norm)."""
    deviation = 2.0 / stats.norm.ppf(0.9)
    thin = Spread.quantiles(p10=5 * deviation - 2, p50=5 * deviation, p90=5 * deviation + 2)
    cut = thin.without_negatives()

    assert cut.share_cut == pytest.approx(stats.norm.cdf(-5), rel=1e-9)
    assert thin.quantile(np.array([1e-9]))[0] < 0
    assert cut.quantile(np.array([0.0]))[0] == pytest.approx(0, abs=1e-6)
    assert cut.quantile(np.array([0.5]))[0] == pytest.approx(5 * deviation, rel=1e-6)
    with pytest.raises(ValueError, match="part of it lies below 0"):
        Spread.quantiles(p10=1, p50=2, p90=3).without_negatives()


def test_a_spread_describes_itself_in_words():
    assert [spread.describe() for spread in SPREADS] == [
        "9",
        "6 to 18, likely 9 (beta-PERT)",
        "0 to 72, likely 0 (beta-PERT)",
        "6 to 18, likely 9 (triangular)",
        "P10 6, P50 9, P90 18 (shifted lognormal)",
        "P10 6, P50 9, P90 12 (normal)",
        "P10 6, P50 9, P90 10 (mirrored lognormal)",
        "3 samples from 3.5 to 6, mean 4.875",
    ]


@pytest.mark.parametrize(
    "make",
    [
        lambda: Spread.pert(low=9, likely=6, high=18),
        lambda: Spread.triangular(low=6, likely=6, high=6),
        lambda: Spread.quantiles(p10=6, p50=6, p90=7),
        lambda: Spread.constant(float("nan")),
        lambda: Spread.samples([1.0]),
    ],
)
def test_numbers_that_make_no_spread_are_refused(make):
    with pytest.raises(ValueError, match=r"needed|must hold"):
        make()
