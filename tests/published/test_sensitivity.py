"""Sensitivity of functions with known indices, through the code that screens scenarios.

Ishigami, a = 7 and b = 0.1: V = 13.844588, S1 = .313905 .442411 0, ST = .557589 .442411 .243684,
S13 = .243684 (Ishigami & Homma 1990). g-function, a = 0, 1, 4.5, 9, 99, 99, 99, 99, the first four:
S1 = .716192 .179048 .023676 .007162, ST = .787144 .242198 .034317 .010460 (Saltelli & Sobol' 1995).
All closed forms.
"""

import sys

import numpy as np
import pytest

from towerpace.answers.bid.drivers import share_if_known
from towerpace.answers.bid.screening import morris, morris_runs, sobol, sobol_runs
from towerpace.faults import InputError

pytest.importorskip("SALib", reason="the extra `sensitivity` is not installed")

CUBE = dict.fromkeys(("x1", "x2", "x3"), (-np.pi, np.pi))
A = np.array([0, 1, 4.5, 9, 99, 99, 99, 99])
UNIT = {f"x{k}": (0.0, 1.0) for k in range(1, 9)}


def ishigami(x):
    return np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])


def g_function(x):
    return np.prod((np.abs(4 * x - 2) + A) / (1 + A), axis=1)


def by_name(found):
    return {index.name: index for index in found.indices}


@pytest.mark.slow
def test_ishigami_indices_are_the_published_ones(stand):
    runs = []

    def counted(x):
        runs.append(len(x))
        return ishigami(x)

    found = sobol(counted, CUBE, n=2048, seed=1, pairs=True)
    assert found.runs == sum(runs) == sobol_runs(3, n=2048, pairs=True)
    first, total = (0.313905, 0.442411, 0.0), (0.557589, 0.442411, 0.243684)
    for name, s1, st in zip(CUBE, first, total, strict=True):
        index = by_name(found)[name]
        assert abs(index.first - s1) < 1.5 * index.first_half
        assert abs(index.total - st) < 1.5 * index.total_half
        assert max(index.first_half, index.total_half) < 0.09
    got = [by_name(found)[name] for name in CUBE]
    check = "Ishigami function, 2,048 points: first-order, then total indices of x1, x2, x3"
    got = [*(index.first for index in got), *(index.total for index in got)]
    stand(check, "Ishigami & Homma 1990, closed form", expected=(*first, *total), got=got, within=0.09)
    assert found.pairs["x1", "x3"] == pytest.approx(0.243684, abs=0.05)
    assert [index.name for index in found.indices] == ["x1", "x2", "x3"]


@pytest.mark.slow
def test_g_function_indices_are_the_published_ones(stand):
    found = by_name(sobol(g_function, UNIT, n=4096, seed=1))
    first, total = (0.716192, 0.179048, 0.023676, 0.007162), (0.787144, 0.242198, 0.034317, 0.010460)
    got = [*(found[f"x{k}"].first for k in range(1, 5)), *(found[f"x{k}"].total for k in range(1, 5))]
    check = "g-function, 4,096 points: first-order, then total indices of x1 to x4"
    stand(check, "Saltelli & Sobol' 1995, closed form", expected=(*first, *total), got=got, within=0.02)
    for name in ("x5", "x6", "x7", "x8"):
        assert found[name].total == pytest.approx(0, abs=0.001)


@pytest.mark.slow
def test_groups_of_like_input_find_the_first_order_indices_of_ishigami():
    """By plain Monte Carlo, as the drivers of a forecast are; 20 groups blur the waves of x2 a little."""
    rng = np.random.Generator(np.random.PCG64(5))
    x = rng.uniform(-np.pi, np.pi, (40_000, 3))
    y = ishigami(x)
    for k, s1 in enumerate((0.313905, 0.442411, 0.0)):
        assert share_if_known(x[:, k], y).value == pytest.approx(s1, abs=0.03)
    assert y.var() == pytest.approx(13.844588, rel=0.03)


def test_elementary_effects_of_a_plane_are_its_slopes_times_the_ranges():
    """By definition; no deviation, since a plane neither bends nor mixes its numbers."""
    ranges = {"a": (0.0, 2.0), "b": (-1.0, 1.0), "c": (10.0, 14.0), "idle": (0.0, 1.0)}
    found = morris(lambda x: 3 * x[:, 0] - 5 * x[:, 1] + x[:, 2], ranges, trajectories=6, seed=2)
    assert found.runs == morris_runs(4, trajectories=6)
    effects = {e.name: e for e in found.effects}
    for name, effect in (("a", 6), ("b", -10), ("c", 4), ("idle", 0)):
        assert effects[name].mu == pytest.approx(effect)
        assert effects[name].mu_star == pytest.approx(abs(effect))
        assert effects[name].sigma == pytest.approx(0, abs=1e-9)
    assert [e.name for e in found.effects] == ["b", "a", "c", "idle"]


def test_morris_orders_the_g_function_and_sees_that_it_bends():
    found = morris(g_function, UNIT, trajectories=40, seed=3)
    assert [e.name for e in found.effects[:4]] == ["x1", "x2", "x3", "x4"]
    assert found.effects[0].sigma > found.effects[3].mu_star
    assert found.effects[4].mu_star < 0.1 * found.effects[2].mu_star


def test_an_answer_that_never_changes_has_no_indices():
    flat = sobol(lambda x: np.full(len(x), 7.0), CUBE, n=8, seed=1)
    assert flat.constant
    assert {(i.first, i.total) for i in flat.indices} == {(0.0, 0.0)}
    assert morris(lambda x: np.zeros(len(x)), CUBE, trajectories=3, seed=1).constant


def test_the_same_seed_gives_the_same_screening():
    a, b, c = (sobol(ishigami, CUBE, n=64, seed=s) for s in (1, 1, 2))
    assert a == b
    assert a != c


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: sobol(ishigami, CUBE, n=100, seed=1), "power of two"),
        (lambda: morris(ishigami, CUBE, trajectories=1, seed=1), "at least two trajectories"),
        (lambda: sobol(ishigami, {"x": (1.0, 1.0)}, n=8, seed=1), "must rise from low to high: x"),
        (lambda: sobol(ishigami, {}, n=8, seed=1), "there is none"),
        (lambda: sobol(lambda x: np.full(len(x), np.nan), CUBE, n=8, seed=1), "finite answers"),
    ],
)
def test_what_cannot_be_screened_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_without_salib_the_fault_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "SALib.sample.sobol", None)
    with pytest.raises(InputError, match=r"towerpace\[sensitivity\]"):
        sobol(ishigami, CUBE, n=8, seed=1)
