"""Metamodels: exact where the truth is a quadratic, refused where it is none, and honest about the rest."""

from itertools import product

import numpy as np
import pandas as pd
import pytest
from numpy.polynomial import Polynomial
from scipy.linalg import lstsq
from scipy.stats import linregress, t

from towerpace.answers.sweep.effects import effects
from towerpace.answers.sweep.metamodel import metamodel, metamodel_or_why
from towerpace.answers.sweep.worth import LEAST_R2, MOST_OF_RANGE


def frame(factors, value, *, half=0.5, response="finish.mean"):
    """A study as `load_study` gives it; every point with an interval of the same half-width."""
    value = np.asarray(value, dtype=float)
    rows = pd.DataFrame({"point": range(1, len(value) + 1), **factors, "response": response, "value": value})
    return rows.assign(low=value - half, high=value + half, trials=100)


def grid(**values):
    """Every combination of some values."""
    places = np.array(list(product(*values.values())))
    return {name: places[:, k] for k, name in enumerate(values)}


def scattered(n, *, names, seed):
    places = np.random.default_rng(seed).uniform(-1, 1, (n, len(names)))
    return {name: places[:, k] for k, name in enumerate(names)}


def quadratic_of(places):
    """Full quadratic of two factors, by hand and in the order of the textbooks."""
    x, y = places.values()
    return np.stack([np.ones(len(x)), x, y, x * y, x**2, y**2], axis=1)


def test_a_known_quadratic_comes_back_exactly():
    places = grid(gangs=[1, 2, 3, 4], slip=[0.0, 5.0, 10.0], hoists=[2, 3])

    def truth(gangs, slip, hoists):
        return 40 - 3 * gangs + 0.5 * gangs**2 + 0.8 * slip - 0.02 * slip**2 + 0.1 * gangs * slip - hoists

    model = metamodel(frame(places, truth(**places)), "finish.mean")
    assert model.fits
    assert (model.worth.predictive_r2, model.worth.rms) == pytest.approx((1, 0), abs=1e-9)
    inside = {"gangs": [1.5, 4.0], "slip": [7.3, 0.2], "hoists": 2.5}
    expected = truth(np.array([1.5, 4.0]), np.array([7.3, 0.2]), 2.5)
    assert model.predict(inside).mean == pytest.approx(expected)
    # Scaled, gangs = 2.5 + 1.5 x and slip = 5 + 5 z: the square has 0.5 x 1.5^2, the product 0.1 x 1.5 x 5.
    assert model.coefficients["gangs^2"] == pytest.approx(1.125)
    assert model.coefficients["gangs*slip"] == pytest.approx(0.75)
    assert "hoists^2" not in model.coefficients  # two values tell no square


def test_three_values_worked_by_hand():
    """At -1, 0, 1, three points each, the means are 10, 11, 16: linear (16 - 10) / 2, square 13 - 11.

    Every leverage is 1 / 3, so a point left out is missed by 3 / 2 of its residual; residuals are -1, 0, 1.
    """
    means = np.repeat([10.0, 11.0, 16.0], 3)
    value = means + np.tile([-1.0, 0.0, 1.0], 3)
    model = metamodel(frame({"slip": np.repeat([2.0, 4.0, 6.0], 3)}, value), "finish.mean")
    assert model.coefficients == pytest.approx({"1": 11.0, "slip": 3.0, "slip^2": 2.0})
    assert (model.worth.rms, model.worth.worst) == pytest.approx((1.5 * (6 / 9) ** 0.5, 1.5))
    half = t.ppf(0.975, 6) * 1.0 / 3**0.5  # s^2 = 6 / (9 - 3)
    found = model.predict({"slip": 4.0})
    assert (found.low, found.mean, found.high) == pytest.approx((11 - half, 11, 11 + half))


def test_coefficients_are_those_of_another_library():
    """`numpy.polynomial` scales to [-1, 1] too."""
    chance = np.random.default_rng(1)
    wind = np.sort(chance.uniform(6, 12, 30))
    value = 600 - 20 * wind + wind**2 + chance.normal(0, 3, 30)
    model = metamodel(frame({"wind": wind}, value), "finish.mean")
    assert list(model.coefficients.values()) == pytest.approx(Polynomial.fit(wind, value, 2).coef)


def test_the_interval_is_that_of_another_library():
    """`scipy.stats.linregress` gives the standard error of the mean response at 0."""
    x = np.repeat([-1.0, 3.0], 6)
    value = 20 + 2 * x + np.random.default_rng(2).normal(0, 1, 12)
    other = linregress(x, value)
    found = metamodel(frame({"slip": x}, value), "finish.mean").predict({"slip": 0.0})
    half = t.ppf(0.975, 10) * other.intercept_stderr
    assert (found.mean, found.high - found.mean) == pytest.approx((other.intercept, half))


def test_press_is_that_of_every_point_left_out_and_fitted_anew():
    places = scattered(20, names=["a", "b"], seed=3)
    columns = quadratic_of(places)
    value = columns @ [30, 4, -2, 1, 3, 0.5] + np.random.default_rng(4).normal(0, 1, 20)
    missed = []
    for k in range(20):
        rest = np.arange(20) != k
        missed.append(value[k] - columns[k] @ lstsq(columns[rest], value[rest])[0])
    worth = metamodel(frame(places, value), "finish.mean").worth
    press = np.sum(np.square(missed))
    assert worth.predictive_r2 == pytest.approx(1 - press / np.sum((value - value.mean()) ** 2))
    assert (worth.rms, worth.worst) == pytest.approx(((press / 20) ** 0.5, np.abs(missed).max()))


def test_pure_noise_predicts_worse_than_the_mean():
    value = np.random.default_rng(5).normal(100, 1, 30)
    model = metamodel(frame(scattered(30, names=["a", "b"], seed=6), value, half=2.0), "finish.mean")
    assert model.worth.predictive_r2 < 0
    assert not model.fits
    assert model.worth.why_not == (
        "the points' own intervals are as wide as its error and may hide the shape: more trials"
    )


def test_the_interval_covers_the_mean_as_often_as_it_says():
    places = scattered(24, names=["a", "b"], seed=7)
    columns, chance, hits, trials = quadratic_of(places), np.random.default_rng(8), 0, 1000
    truth = [50, 6, -4, 2, 3, -2]
    at = quadratic_of({"a": np.array([0.3]), "b": np.array([-0.4])})
    for _ in range(trials):
        value = columns @ truth + chance.normal(0, 2, 24)
        found = metamodel(frame(places, value), "finish.mean").predict({"a": 0.3, "b": -0.4})
        hits += bool(found.low <= (at @ truth)[0] <= found.high)
    assert abs(hits / trials - 0.95) < 3 * (0.95 * 0.05 / trials) ** 0.5


@pytest.mark.parametrize("own", [0.0, 0.3, 1.0])
def test_with_common_draws_the_band_holds_the_error_that_all_points_share(own):
    """Every point errs with a standard deviation of 1: a part is its own, the rest common to all."""
    places = scattered(24, names=["a", "b"], seed=9)
    truth, rng, hits, repeats = 50 + 5 * places["a"], np.random.default_rng(12), 0, 200
    for _ in range(repeats):
        errors = (1 - own**2) ** 0.5 * rng.standard_normal() + own * rng.standard_normal(24)
        study = frame(places, truth + errors, half=1.96)
        study.attrs["draws"] = "common"
        found = metamodel(study, "finish.mean").predict({"a": 0, "b": 0})
        hits += found.low <= 50 <= found.high
    assert hits / repeats > 0.95 - 3 * (0.95 * 0.05 / repeats) ** 0.5


def test_an_error_that_all_points_share_moves_the_surface_and_not_its_interval():
    places = scattered(24, names=["a", "b"], seed=9)
    value = 50 + 5 * places["a"] + np.random.default_rng(10).normal(0, 1, 24)
    one, other = (
        metamodel(frame(places, value + shift), "finish.mean").predict({"a": 0, "b": 0}) for shift in (0, 7)
    )
    assert other.mean - one.mean == pytest.approx(7)
    assert other.high - other.low == pytest.approx(one.high - one.low)


@pytest.mark.parametrize("where", [-0.6, -0.2, 0.0, 0.45, 0.7])
def test_a_step_is_refused_wherever_it_stands(where):
    places = scattered(200, names=["a", "b"], seed=11)
    model = metamodel(frame(places, 10 + 5 * (places["a"] > where), half=0.1), "finish.mean")
    assert not model.fits
    assert model.worth.why_not.startswith("not a quadratic of the factors: points left out are missed by")
    assert model.worth.rms > MOST_OF_RANGE * model.worth.span


def test_the_least_r2_is_the_most_that_a_quadratic_explains_of_a_step():
    x = (np.arange(4000) + 0.5) / 2000 - 1
    explained = []
    for where in np.linspace(-0.9, 0.9, 91):
        step = (x > where).astype(float)
        rest = step - Polynomial.fit(x, step, 2)(x)
        explained.append(1 - rest.var() / step.var())
        assert explained[-1] == pytest.approx((1 - where**2) * (3 + 5 * where**2) / 4, abs=2e-3)
    assert max(explained) == pytest.approx(LEAST_R2, abs=2e-3)


def test_factors_of_labels_are_refused_until_they_are_held():
    places = grid(gangs=[1, 2, 3, 4], slip=[0, 1, 2])
    both = pd.concat(
        [
            frame({**places, "start": label}, places["gangs"] + shift)
            for label, shift in (("March", 30), ("September", 50))
        ]
    )
    refusal = "a quadratic needs factors with numbers, but labels stand in 'start'"
    with pytest.raises(ValueError, match=refusal):
        metamodel(both, "finish.mean")
    assert metamodel_or_why(both, "finish.mean") == refusal
    held = metamodel(both[both["start"] == "March"], "finish.mean")
    assert held.factors == ("gangs", "slip")
    assert held.predict({"gangs": 2, "slip": 1}).mean == pytest.approx(32)


def test_truths_are_labels_too():
    places = {"night": np.tile([True, False], 10), "slip": np.arange(20.0)}
    with pytest.raises(ValueError, match="labels stand in 'night'"):
        metamodel(frame(places, np.arange(20.0)), "finish.mean")


def test_extrapolation_is_refused_also_where_it_is_hidden():
    places = scattered(60, names=["a", "b"], seed=12)
    near = np.abs(places["a"] - places["b"]) < 0.5  # a band along the diagonal
    places = {name: values[near] for name, values in places.items()}
    model = metamodel(frame(places, 30 + places["a"] + places["b"] ** 2), "finish.mean")
    assert model.predict({"a": 0.5, "b": 0.5}).mean == pytest.approx(30.75)
    with pytest.raises(ValueError, match=r"a=1.2, b=0 lies outside the points of the design"):
        model.predict({"a": [0.1, 1.2], "b": 0.0})
    with pytest.raises(ValueError, match=r"a=0.9, b=-0.9 lies outside the points of the design"):
        model.predict({"a": 0.9, "b": -0.9})
    assert model.inside({"a": [0.0, 0.9], "b": [0.0, -0.9]}).tolist() == [True, False]


def test_all_wrong_factors_are_named_at_once():
    model = metamodel(frame(grid(gangs=[1, 2, 3], slip=[0, 1, 2, 3]), range(12)), "finish.mean")
    with pytest.raises(ValueError, match="no value of 'slip'; 'wind' is no factor of it"):
        model.predict({"gangs": 2, "wind": 9})


def test_few_points_beyond_the_horizon_are_left_out_and_counted_and_many_refused():
    places = grid(gangs=[1, 2, 3, 4, 5], slip=[0, 1, 2, 3, 4])
    value = 60.0 - 4 * places["gangs"] + 3 * places["slip"]
    value[[4, 9]] = np.nan
    model = metamodel(frame(places, value), "finish.mean")
    assert (model.left_out, model.worth.points, model.fits) == (2, 23, True)
    assert model.left_out == 2
    value[8] = np.nan
    model = metamodel(frame(places, value), "finish.mean")
    assert model.worth.why_not == "3 of 25 points lie beyond the horizon"
    with pytest.raises(ValueError, match=r"finish.mean lies beyond the horizon at every point"):
        metamodel(frame(places, value * np.nan), "finish.mean")


def test_too_few_points_are_refused_with_the_number_that_it_takes():
    model = metamodel(frame(grid(a=[1, 2, 3], b=[1, 2, 3]), np.arange(9) ** 2), "finish.mean")
    assert model.worth.why_not == "9 points are too few for 6 terms: it takes 12"


@pytest.mark.parametrize(
    ("factors", "value", "refusal"),
    [
        (grid(a=[1, 2], b=[1, 2]), [1, 2, 3, 5], "4 points for the 4 terms of a quadratic"),
        ({"a": np.arange(20.0), "b": np.arange(20.0)}, range(20), "cannot tell the 6 terms"),
        ({"a": np.repeat([1.0, 2.0, 3.0], [9, 9, 1])}, range(19), "one point alone decides a term"),
        ({"a": np.arange(20.0)}, [7.0] * 20, "finish.mean does not change over the points"),
        ({"a": [3.0] * 20}, range(20), "finish.mean does not change over the points"),
    ],
)
def test_points_that_determine_no_quadratic_are_refused(factors, value, refusal):
    with pytest.raises(ValueError, match=refusal):
        metamodel(frame(factors, value), "finish.mean")


def test_another_response_is_refused():
    with pytest.raises(ValueError, match=r"no response 'finish.p80'"):
        metamodel(frame({"a": np.arange(20.0)}, range(20)), "finish.p80")


@pytest.mark.parametrize(
    ("response", "shape", "refusal"),
    [
        ("contract.completion", lambda x: np.minimum(0.7 + 0.6 * x, 1), "it would give a chance of 1."),
        ("contract.completion", lambda x: np.maximum(0.3 + 0.6 * x, 0), "it would give -0."),
        ("ledger.panels.wind", lambda x: np.clip(50 * (x + 0.5), 0, None), "below 0"),
    ],
)
def test_a_surface_that_leaves_what_is_possible_is_refused(response, shape, refusal):
    x = np.linspace(-1, 1, 41)
    model = metamodel(frame({"a": x}, shape(x), response=response), response)
    assert refusal in model.worth.why_not


def test_the_share_of_a_factor_is_what_the_fit_loses_without_it():
    """Factors of a grid are orthogonal: without a product the shares go as the squares of the slopes."""
    places = grid(a=[-1, 0, 1, 2], b=[-1, 0, 1, 2])
    model = metamodel(frame(places, 20 + 3.0 * places["a"] + 1.0 * places["b"]), "finish.mean")
    assert model.shares == pytest.approx({"a": 0.9, "b": 0.1})


def a_hypercube(*, bend=0.0, noise=0.0, seed=5):
    """30 points in which b happens to be high where a is low; the truth is 3 a + 10 b and a bend."""
    rng = np.random.default_rng(seed)
    a = np.linspace(-1, 1, 30)
    b = np.clip(-0.7 * a + rng.uniform(-0.6, 0.6, 30), -1, 1)
    value = 100 + 3 * a + 10 * b + bend * np.sign(b) * np.sqrt(np.abs(b)) + noise * rng.standard_normal(30)
    study = frame({"a": a, "b": b}, value, half=0.1)
    study.attrs.update(design="latin", draws="independent")
    return study


def slope(table):
    return linregress(table["a"], table["value"]).slope


def test_effects_of_a_hypercube_are_the_marginals_of_its_surface():
    """The plain means of bins fall with a, since b falls; the truth rises by 3 a unit."""
    study = a_hypercube()
    plain = study.groupby(pd.qcut(study["a"], 5), observed=True)[["a", "value"]].mean()
    assert slope(plain) < -1
    told = effects(study, "finish.mean", factors=["a"])
    assert slope(told) == pytest.approx(3, abs=1e-6)
    assert told["value"].mean() == pytest.approx(study["value"].mean(), abs=0.2)
    pair = effects(study, "finish.mean", factors=["a", "b"])
    assert pair["value"].to_numpy() == pytest.approx(
        100 + 3 * pair["a"].to_numpy() + 10 * pair["b"].to_numpy()
    )


def test_without_a_fit_surface_the_other_factors_are_taken_off_on_a_straight_line():
    study = a_hypercube(noise=6.0)
    assert not metamodel(study, "finish.mean").fits
    told = effects(study, "finish.mean", factors=["a"])
    assert ((told["low"] <= 100 + 3 * told["a"]) & (100 + 3 * told["a"] <= told["high"])).sum() >= 4
    assert told["points"].tolist() == [6] * 5
