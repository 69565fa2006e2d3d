"""Where paths meet: the expected latest of several, criticality, and how shared uncertainty widens a sum.

Oracles: closed forms, each recomputed in the test (normal order statistics by quadrature, C. E. Clark's
formula, harmonic numbers) and recomputed once by 4,000,000 numpy draws or scipy quadrature.
A unit of time is 10,000 minutes. Works cannot be negative, so normal paths are moved up by a constant, which
moves their latest by the same constant.
"""

from functools import partial
from math import asin, pi, sqrt

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm, spearmanr

from support.drawn import copies, drawn, whole
from support.estimates import mean_of, sd_of, share_of
from towerpace import Plan, Step, run
from towerpace.draws import stream
from towerpace.plan.laws import PaceLaw
from towerpace.plan.network import network
from towerpace.scenario.spreads import Spread

UNIT = 10_000
Z90 = norm.ppf(0.9)


def paths_that_meet(counts) -> list[Step]:
    """Parallel paths, and for each count a step that waits for the first so many of them."""
    paths = [Step(f"path {k}") for k in range(max(counts))]
    return paths + [Step(f"latest of {n}", after=[p.name for p in paths[:n]]) for n in counts]


def latest_of(counts, durations) -> dict[int, np.ndarray]:
    """Latest end of the first n paths for each n, (trials,); `durations` is (trials, paths).

    All trials go through the network; the engine plays the first 200 and must agree to the minute.
    """
    steps, block = paths_that_meet(counts), 200
    plan = copies(steps, block)
    works = np.zeros((len(durations), len(steps)))
    works[:, : durations.shape[1]] = durations * UNIT
    finish = np.concatenate([network(plan, work=whole(w)).earliest_finish for w in works.reshape(-1, plan.n)])
    assert np.array_equal(run(plan, drawn(plan, work=works[:block])).finished, finish[: plan.n])
    return {n: finish.reshape(works.shape)[:, k - len(counts)] / UNIT for k, n in enumerate(counts)}


def clark(mu1, sd1, mu2, sd2, rho):
    """Mean and sd of the greater of two normal numbers (Clark 1961)."""
    a = sqrt(sd1**2 + sd2**2 - 2 * rho * sd1 * sd2)
    alpha = (mu1 - mu2) / a
    mean = mu1 * norm.cdf(alpha) + mu2 * norm.cdf(-alpha) + a * norm.pdf(alpha)
    square = (mu1**2 + sd1**2) * norm.cdf(alpha) + (mu2**2 + sd2**2) * norm.cdf(-alpha)
    square += (mu1 + mu2) * a * norm.pdf(alpha)
    return mean, sqrt(square - mean**2)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("paths", "mean", "sd"),
    [
        ((10, 2, 10, 2, 0), 11.12838, 1.65129),
        ((10, 2, 10, 2, 0.5), 10.79788, 1.83395),
        ((10, 2, 10, 2, -0.5), 11.38198, 1.44573),
        ((10, 2, 9, 3, 0), 10.99338, 1.99339),
        ((44, 3, 42, 4, 0), 45.15219, 2.78928),
    ],
)
def test_greater_of_two_normal_paths_follows_clark(paths, mean, sd, stand):
    """C. E. Clark 1961, The greatest of a finite set of random variables, Operations Research 9: 145-162
    (from memory). 12,000 trials: standard errors about 0.016 of the mean, 0.7 % of the sd; 4 standard errors.
    """
    mu1, sd1, mu2, sd2, rho = paths
    assert clark(*paths) == pytest.approx((mean, sd), abs=1e-5)
    z = stream(1961, 0, "two paths").standard_normal((12_000, 2))
    z[:, 1] = rho * z[:, 0] + sqrt(1 - rho**2) * z[:, 1]
    up = 10
    got = latest_of([2], up + np.array([mu1, mu2]) + np.array([sd1, sd2]) * z)[2] - up
    assert mean_of(got).agrees(mean, sees=0.007)
    check = f"later of two normal paths N({mu1}, {sd1}), N({mu2}, {sd2}), correlation {rho:g}: mean, sd"
    stand(check, "Clark 1961", expected=(mean, sd), got=(mean_of(got), sd_of(got)), sees=0.04)


def normal_latest(n):
    """Mean and sd of the greatest of n standard normal numbers, by quadrature."""

    def moment(k):
        return quad(
            lambda x: x**k * n * norm.cdf(x) ** (n - 1) * norm.pdf(x), -9, 9, epsabs=1e-12, limit=200
        )[0]

    return moment(1), sqrt(moment(2) - moment(1) ** 2)


NORMAL_LATEST = {
    2: (0.564190, 0.825645),
    3: (0.846284, 0.747975),
    4: (1.029375, 0.701224),
    5: (1.162964, 0.668980),
    10: (1.538753, 0.586808),
    20: (1.867475, 0.525068),
    50: (2.249074, None),
    100: (2.507594, None),
}


@pytest.mark.slow
def test_latest_of_many_normal_paths_is_the_tabled_order_statistic(stand):
    """D. Teichroew 1956, Tables of expected values of order statistics, Annals of Mathematical Statistics 27:
    410-426; H. L. Harter 1961, Biometrika 48: 151-165 (both from memory; recomputed by quadrature). 4,000
    trials: standard error of the mean 0.013 for two paths, 0.007 for a hundred; 4 standard errors.
    """
    for n, (mean, sd) in NORMAL_LATEST.items():
        exact = normal_latest(n)
        assert exact[0] == pytest.approx(mean, abs=1e-6)
        assert sd is None or exact[1] == pytest.approx(sd, abs=1e-6)
    assert NORMAL_LATEST[2][0] == pytest.approx(1 / sqrt(pi), abs=1e-6)
    assert NORMAL_LATEST[3][0] == pytest.approx(3 / (2 * sqrt(pi)), abs=1e-6)

    up = 8
    z = stream(1956, 0, "many paths").standard_normal((4000, 100))
    latest_by_n = latest_of(list(NORMAL_LATEST), up + z)
    stand(
        "latest of 2, 10 and 100 standard normal paths: means",
        "Teichroew 1956, Harter 1961",
        expected=[NORMAL_LATEST[n][0] for n in (2, 10, 100)],
        got=[mean_of(latest_by_n[n] - up) for n in (2, 10, 100)],
        sees=0.1,
    )
    for n, latest in latest_by_n.items():
        mean, sd = NORMAL_LATEST[n]
        assert mean_of(latest - up).agrees(mean, sees=0.1), n
        assert sd is None or sd_of(latest).agrees(sd, sees=0.06), n


@pytest.mark.slow
def test_latest_of_exponential_paths_has_the_harmonic_mean(stand):
    """E = 1 + 1/2 + ... + 1/n, var = 1 + 1/4 + ... + 1/n^2 (A. Renyi 1953, On the theory of order statistics;
    from memory, elementary). 8,000 trials: standard error 0.014; 4 standard errors.
    """
    means = {2: 1.5, 3: 1.833333, 5: 2.283333, 10: 2.928968, 40: 4.278543}
    durations = stream(1953, 0, "exponential paths").standard_exponential((8000, 40))
    latest_by_n = latest_of(list(means), durations)
    stand(
        "latest of 2, 10 and 40 exponential paths: means",
        "Renyi 1953, 1 + 1/2 + ... + 1/n",
        expected=[means[n] for n in (2, 10, 40)],
        got=[mean_of(latest_by_n[n]) for n in (2, 10, 40)],
        sees=0.05,
    )
    for n, latest in latest_by_n.items():
        assert means[n] == pytest.approx(sum(1 / k for k in range(1, n + 1)), abs=1e-6)
        assert mean_of(latest).agrees(means[n], sees=0.05), n
        assert sd_of(latest).agrees(sqrt(sum(1 / k**2 for k in range(1, n + 1))), sees=0.1), n


def test_latest_of_uniform_paths_has_mean_n_over_n_plus_one():
    """Elementary. 1,600 trials: standard error 0.006 for two paths, 0.001 for twenty; 4 standard errors."""
    durations = stream(1953, 0, "uniform paths").random((1600, 20))
    for n, latest in latest_of([2, 5, 20], durations).items():
        assert mean_of(latest).agrees(n / (n + 1), sees=0.04), n


@pytest.mark.parametrize(("first", "second"), [(1, 1), (3, 1), (2, 5)])
def test_criticality_of_two_exponential_paths_is_their_share_of_the_means(first, second):
    """P(path 1 is the later) = m1 / (m1 + m2) (elementary), read from who let the meeting start.

    3,000 trials: standard error below 0.01; 4 standard errors.
    """
    steps = paths_that_meet([2])
    plan = copies(steps, 3000)
    works = stream(1954, 0, "criticality").standard_exponential((3000, 3)) * [first * UNIT, second * UNIT, 0]
    enabler = run(plan, drawn(plan, work=works)).enabler.reshape(-1, 3)[:, 2]
    assert set(np.unique(enabler % 3)) == {0, 1}
    assert share_of(enabler % 3 == 0).agrees(first / (first + second), sees=0.14)


def floors_with_correlation(rho: float, floors: int = 60) -> PaceLaw:
    """Days of each floor: normal, mean 20 d, sd 1.5 d, every pair joined by the same correlation."""
    days = Spread.quantiles(p10=20 - 1.5 * Z90, p50=20.0, p90=20 + 1.5 * Z90)
    root = np.zeros((floors, floors))
    root[:, 0] = 1.0  # one score for all floors: the root of a correlation of 1, which has no Cholesky root
    if rho < 1:
        root = np.linalg.cholesky(np.full((floors, floors), rho) + (1 - rho) * np.eye(floors))
    return PaceLaw({f"floor {k}": days for k in range(floors)}, root)


@pytest.mark.slow
@pytest.mark.parametrize(("rho", "sd_days"), [(0.0, 11.6190), (0.3, 50.2444), (1.0, 90.0)])
def test_shared_uncertainty_widens_the_finish_of_sixty_floors(rho, sd_days, stand):
    """Sd of a sum of n equal, equally correlated numbers: sd sqrt(n (1 + (n - 1) rho)). J. R. van Dorp & M.
    R. Duffey 1999, Statistical dependence in risk analysis for project networks using Monte Carlo methods,
    International Journal of Production Economics 58: 17-29 (from memory; formula recomputed). 800 trials:
    standard error 2.5 % of the sd; 4 standard errors.
    """
    assert sd_days == pytest.approx(1.5 * sqrt(60 * (1 + 59 * rho)), abs=1e-4)
    law = floors_with_correlation(rho)
    plan = Plan([Step(name, after=[f"floor {k - 1}"] if k else []) for k, name in enumerate(law.spreads)])
    finishes = []
    for trial in range(800):
        days = law.factors(partial(stream, 1999, trial))
        finishes.append(
            run(plan, drawn(plan, work=np.array([days[name] for name in plan.names]) * UNIT)).finish
        )
    check = f"60 floors of 20 d, sd 1.5 d, correlation {rho:g}: sd of the finish [d]"
    got = sd_of(np.array(finishes) / UNIT)
    stand(check, "van Dorp & Duffey 1999", expected=sd_days, got=got, sees=0.12)
    assert mean_of(np.array(finishes) / UNIT).agrees(1200, sees=0.015)


@pytest.mark.slow
def test_copula_gives_the_rank_correlation_of_normal_scores(stand):
    """Spearman's rho = 6/pi asin(rho / 2) = 0.482584 for rho = 0.5, whatever the two laws. W. H. Kruskal
    1958, Ordinal measures of association, Journal of the American Statistical Association 53: 814-861 (from
    memory; formula recomputed). 60 batches of 1,000 trials: standard error 0.003; 4 standard errors.
    """
    exact = 6 / pi * asin(0.25)
    assert exact == pytest.approx(0.482584, abs=1e-6)
    spreads = {
        "panels": Spread.pert(low=0.8, likely=0.9, high=2.0),
        "boards": Spread.triangular(low=0.5, likely=1.4, high=1.5),
    }
    law = PaceLaw(spreads, np.array([[1.0, 0.0], [0.5, sqrt(0.75)]]))
    drawn_paces = [list(law.factors(partial(stream, 1958, trial)).values()) for trial in range(60_000)]
    batches = np.array(drawn_paces).reshape(60, 1000, 2)
    got = mean_of([spearmanr(b).statistic for b in batches])
    stand(
        "rank correlation of two paces joined by 0.5", "Kruskal 1958", expected=0.482584, got=got, sees=0.04
    )
