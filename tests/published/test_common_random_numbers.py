"""Common random numbers narrow a comparison, first in an example worked by hand, then on a tower.

Oracle: X = -12 ln U and Y = -10 ln U' have Var(X - Y) = (12 - 10)^2 = 4 if U' = U, and 12^2 + 10^2 = 244 if
they are independent (inversion of exponential laws; A. M. Law, Simulation Modeling and Analysis, chapter on
variance reduction, from memory). On a tower no closed form exists; there the variance of the paired
difference must lie below the sum of the variances, which independent seeds give.
"""

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from support.estimates import Estimate, mean_of
from towerpace.draws import Chooser, stream
from towerpace.engine.reference import run
from towerpace.plan.site.tower import build
from towerpace.plan.site.weather import weather_of
from towerpace.scenario.load import load

SMALL_TOWER = Path(__file__).parent / "data" / "small_tower" / "scenario.toml"
ONE_MORE = ("resource.finishers.count", 3)
TRIALS, DAY_MIN = 60, 1440


def variance_of(values) -> Estimate:
    """Variance of independent values whose mean is known to be small beside their spread."""
    x = np.asarray(values)
    return mean_of((x - x.mean()) ** 2)


@pytest.mark.parametrize(("purpose_of_y", "variance", "sees"), [("service", 4, 0.1), ("other", 244, 0.1)])
def test_the_same_stream_gives_a_variance_of_4_and_another_one_of_244(purpose_of_y, variance, sees, stand):
    """40,000 pairs: standard error 1.4 % and 1.1 %."""
    n = 40_000
    x = -12 * np.log1p(-stream(81, 0, "service").random(n))
    y = -10 * np.log1p(-stream(81, 0, purpose_of_y).random(n))
    word = "the same" if purpose_of_y == "service" else "another"
    check = f"variance of a difference of exponentials, {word} stream"
    stand(check, "inversion, Law", expected=variance, got=variance_of(x - y), sees=sees)


def chooser(change=None):
    """Draws of the small tower, with one setting changed."""
    scenario = load(SMALL_TOWER, dict([change]) if change else None)
    tower = build(scenario)
    return Chooser(tower.plan, tower.laws, weather_of(scenario))


@lru_cache
def finishes_d(change=None, seed=1):
    """Finish of every trial. [d]"""
    choose = chooser(change)
    finish = [run(choose.plan, choose.draw(seed, trial)).finish for trial in range(TRIALS)]
    assert None not in finish
    return np.array(finish, dtype=np.float64) / DAY_MIN


def correlation(x, y) -> Estimate:
    """Correlation after Fisher's z = atanh(r), whose standard error is 1 / sqrt(n - 3)."""
    return Estimate(float(np.arctanh(np.corrcoef(x, y)[0, 1])), (len(x) - 3) ** -0.5)


def test_two_setups_of_a_tower_meet_the_same_work_dates_and_weather():
    base, more = (chooser(change) for change in (None, ONE_MORE))
    assert base.plan.names == more.plan.names
    for trial in range(3):
        one, other = base.draw(1, trial), more.draw(1, trial)
        assert np.array_equal(one.work, other.work)
        assert np.array_equal(one.date, other.date)
        assert one.hours is not None
        assert np.array_equal(one.hours.gust_m_s, other.hours.gust_m_s)
        assert not np.array_equal(one.work, base.draw(2, trial).work)


@pytest.mark.slow
def test_on_the_same_seeds_one_gang_more_is_compared_with_less_variance():
    """Var(A - B) < Var(A) + Var(B) by more than 4 standard errors of the correlation that makes it so."""
    base, more = finishes_d(), finishes_d(ONE_MORE)
    together = correlation(base, more)
    assert together.value > 4 * together.error
    assert np.var(base - more, ddof=1) < np.var(base, ddof=1) + np.var(more, ddof=1)
    gained = mean_of(base - more)
    assert gained.value > 4 * gained.error


@pytest.mark.slow
def test_on_seeds_of_their_own_the_two_setups_know_nothing_of_each_other():
    """The correlation is 0 within 4 standard errors, and the difference is known far less well."""
    base, more, apart = finishes_d(), finishes_d(ONE_MORE), finishes_d(ONE_MORE, seed=2)
    independent = correlation(base, apart)
    assert abs(independent.value) < 4 * independent.error
    assert np.var(base - apart, ddof=1) > 2 * np.var(base - more, ddof=1)
