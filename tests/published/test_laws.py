"""Laws of duration against scipy.stats and the formulas of the PERT literature.

Oracle: scipy.stats.triang and scipy.stats.beta. Sources: D. Malcolm, J. Roseboom, C. Clark & W. Fazar 1959,
Application of a technique for research and development program evaluation, Operations Research 7: 646-669;
D. Vose, Risk Analysis, on the modified PERT (both from memory; the shape formulas also read in a document).
Moments are recomputed here by integrating the quantile function. The beta-PERT quantile function is read
from a table between knots, good to 5e-5 of the range (measured on 300 random laws), so that much is allowed.
"""

import numpy as np
import pytest
from numpy.polynomial.legendre import leggauss
from scipy.stats import beta, triang

from support.estimates import mean_of, sd_of
from towerpace import Plan, Step
from towerpace.draws import Chooser, stream
from towerpace.plan.laws import Durations, PaceLaw
from towerpace.plan.work_law import Term, WorkLaw
from towerpace.scenario.spreads import Spread

ROWS = [
    ((2, 3.5, 8), (4.5, 1.27475), (4.0, 1.06904), 1.0),
    ((6, 9, 18), (11, 2.54951), (10, 2.13809), 2.0),
    ((1, 4.5, 5), (3.5, 0.88976), (4, 0.65465), 0.66667),
    ((10, 12, 20), (14, 2.16025), (13, 1.73205), 1.66667),
]


def spread(kind: str, a, m, b) -> Spread:
    make = Spread.triangular if kind == "triangular" else Spread.pert
    return make(low=a, likely=m, high=b)


def scipy_law(kind: str, a, m, b):
    if kind == "triangular":
        return triang((m - a) / (b - a), a, b - a)
    return beta(1 + 4 * (m - a) / (b - a), 1 + 4 * (b - m) / (b - a), a, b - a)


def moments(law: Spread) -> tuple[float, float]:
    """Mean and sd from the quantile function, by Gauss-Legendre rules on 400 pieces of (0, 1)."""
    nodes, weights = leggauss(8)
    edges = np.linspace(0, 1, 401)
    u = ((nodes + 1) / 2 * np.diff(edges)[:, None] + edges[:-1, None]).reshape(-1)
    w = np.tile(weights / 2 / 400, 400)
    x = law.quantile(u)
    mean = float((w * x).sum())
    return mean, float((w * (x - mean) ** 2).sum()) ** 0.5


@pytest.mark.parametrize(("numbers", "triangular", "pert", "sixth"), ROWS)
def test_means_and_sds_are_as_tabled(numbers, triangular, pert, sixth, stand):
    """To 2e-5 of (b - a); beta-PERT variance is (mean - a)(b - mean)/7 and not ((b - a)/6)^2."""
    a, _, b = numbers
    got: tuple[float, ...] = ()
    for kind, (mean, _) in (("triangular", triangular), ("pert", pert)):
        law = spread(kind, *numbers)
        assert law.mean() == pytest.approx(mean, abs=1e-9)
        got += moments(law)
    check = f"{a}, {numbers[1]}, {b}: mean and sd of the triangular and of the beta-PERT law"
    source = "Malcolm et al. 1959, Vose; quadrature"
    stand(check, source, expected=(*triangular, *pert), got=got, within=2e-5 * (b - a))
    mean, sd = pert
    assert ((mean - a) * (b - mean) / 7) ** 0.5 == pytest.approx(sd, abs=1e-5)
    assert (b - a) / 6 == pytest.approx(sixth, abs=1e-5)
    assert abs(sd - sixth) > 0.01


@pytest.mark.parametrize(
    ("kind", "quantiles"),
    [("triangular", (11.4142, 13.6754, 17.1716)), ("pert", (10.8990, 12.7667, 15.4533))],
)
def test_p10_p50_p90_of_ten_twelve_twenty_are_as_tabled(kind, quantiles, stand):
    """Recomputed with scipy.stats, to 1e-4."""
    assert scipy_law(kind, 10, 12, 20).ppf([0.1, 0.5, 0.9]) == pytest.approx(quantiles, abs=5.1e-5)
    u = np.array([0.1, 0.5, 0.9])
    got = spread(kind, 10, 12, 20).quantile(u).tolist()
    stand(f"{kind} 10, 12, 20: P10, P50, P90", "scipy.stats", expected=quantiles, got=got, within=1e-4)


@pytest.mark.parametrize("kind", ["triangular", "pert"])
def test_quantile_functions_are_those_of_scipy(kind):
    """60 random laws, some with the likely value at an end, at 2,001 probabilities; to 5e-5 of the range."""
    rng = stream(1959, 0, "random laws")
    u = np.linspace(0, 1, 2001)
    for number in range(60):
        a, m, b = np.sort(rng.uniform(0, 100, 3))
        m = (m, a, b)[number % 3] if number < 12 else m
        exact = scipy_law(kind, a, m, b)
        law = spread(kind, a, m, b)
        assert np.abs(law.quantile(u) - exact.ppf(u)).max() < 5e-5 * (b - a)
        assert law.mean() == pytest.approx(exact.mean(), rel=1e-9)
        assert moments(law)[1] == pytest.approx(exact.std(), rel=1e-4)


@pytest.mark.parametrize("kind", ["triangular", "pert"])
def test_drawn_works_follow_their_law(kind):
    """20,000 steps drawn at once under one purpose: standard error of the mean 0.1 %, 4 of them."""
    n = 20_000
    plan = Plan([Step(str(k), work=1) for k in range(n)])
    everyone = np.arange(n)
    term = Term(spread(kind, 10_000, 12_000, 20_000), "minutes of a panel")
    work = WorkLaw(everyone, everyone, np.ones(n), np.zeros(n), (term,))
    laws = (Durations((work,), PaceLaw({}, np.eye(0))),)
    drawn = Chooser(plan, laws, None).draw(1959, 0).work
    exact = scipy_law(kind, 10_000, 12_000, 20_000)
    assert mean_of(drawn).agrees(exact.mean(), sees=0.01)
    assert sd_of(drawn).agrees(exact.std(), sees=0.025)
