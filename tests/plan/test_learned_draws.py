"""What was learned, in the draws of a trial: at its own score, with its own scatter, fronts together."""

from dataclasses import dataclass
from functools import partial

import numpy as np
import pytest
from scipy.stats import spearmanr

from towerpace.draws import stream
from towerpace.plan.chance import NOTHING_KNOWN, Drawn, Known
from towerpace.plan.laws import Durations, PaceLaw
from towerpace.plan.learned import LearnedPaces
from towerpace.plan.site.paces import RiskFactor
from towerpace.plan.work_law import Term, WorkLaw
from towerpace.scenario.spreads import Spread

N, TRIALS = 1200, 150
ITEM = Spread.quantiles(p10=7000, p50=10_000, p90=14_285.714)
PACES = {"panels": Spread.pert(low=0.8, likely=1, high=1.5), "seal": Spread.pert(low=0.9, likely=1, high=1.3)}
ROOT = np.linalg.cholesky([[1.0, 0.7], [0.7, 1.0]])
FRONTS = np.arange(N) // 12


@dataclass(frozen=True)
class Told:
    """A level between two, and certain scatter and front effect."""

    low: float = 1.4
    high: float = 1.4
    k: float = 1.0
    tau: float = 0.0

    def quantile(self, u):
        return self.low + (self.high - self.low) * np.asarray(u)

    def scatter(self, u):
        return np.full(np.shape(u), self.k)

    def front_sd(self, u):
        return np.full(np.shape(u), self.tau)


def law(hindrances=()):
    work = [
        WorkLaw(
            np.arange(first, N, 2),
            np.arange(first, N, 2),
            np.ones(N // 2),
            np.zeros(N // 2),
            (Term(ITEM, f"work of {trade}"),),
            pace=trade,
        )
        for first, trade in enumerate(PACES)
    ]
    return Durations(tuple(work), PaceLaw(PACES, ROOT, tuple(hindrances)))


def minutes(known, *, trial=0, durations=None):
    zeros = np.zeros(N, dtype=np.int64)
    into = Drawn(zeros, zeros.copy(), zeros.astype(bool))
    (durations or law()).apply(into, partial(stream, 3, trial), known)
    return into.work


def taught(**paces):
    return Known(learned=LearnedPaces(paces, FRONTS))


def test_what_was_not_learned_is_drawn_as_before():
    as_stated, told = minutes(NOTHING_KNOWN), minutes(taught(panels=Told()))
    assert (told[1::2] == as_stated[1::2]).all()
    assert minutes(taught()).tolist() == as_stated.tolist()


def test_items_keep_their_place_and_the_level_takes_that_of_the_pace():
    pace = law().pace.factors(partial(stream, 3, 0))["panels"]
    told, as_stated = minutes(taught(panels=Told()))[::2], minutes(NOTHING_KNOWN)[::2]
    assert told == pytest.approx(as_stated * 1.4 / pace, abs=2)


def test_a_slow_trial_stays_slow_and_trades_stay_together():
    known, own = taught(panels=Told(1.3, 1.5), seal=Told(0.9, 1.0)), law().pace
    drawn = [own.factors(partial(stream, 3, trial)) for trial in range(TRIALS)]
    learned = [own.factors(partial(stream, 3, trial), known) for trial in range(TRIALS)]
    panels, seal = ([row[name] for row in learned] for name in PACES)
    assert spearmanr(panels, [row["panels"] for row in drawn]).statistic == pytest.approx(1)
    assert spearmanr(panels, seal) == spearmanr(*([row[name] for row in drawn] for name in PACES))
    assert min(panels) > 1.3
    assert max(panels) < 1.5


def test_what_hinders_a_trade_is_in_what_was_learned_and_counts_once():
    strike = RiskFactor("panels", "strike", 1.0, Spread.constant(2.0))
    hindered = law([strike])
    assert hindered.pace.factors(partial(stream, 3, 0), taught(panels=Told()))["panels"] == 1.4
    assert hindered.pace.factors(partial(stream, 3, 0))["panels"] > 1.5


def test_scatter_widens_the_log_minutes_and_keeps_their_mean():
    calm, wild = (minutes(taught(panels=Told(k=k)))[::2] for k in (1.0, 1.6))
    assert np.log(wild).std() == pytest.approx(1.6 * np.log(calm).std(), rel=0.01)
    exact = 1.4 * ITEM.mean()
    # 600 items; the mean of the wild ones has a standard error of 2 %.
    assert wild.mean() == pytest.approx(exact, rel=0.06)
    assert calm.mean() == pytest.approx(exact, rel=0.04)


def test_fronts_go_together_about_a_mean_of_one():
    told, plain = minutes(taught(panels=Told(tau=0.3)))[::2], minutes(taught(panels=Told()))[::2]
    effect, front = told / plain, FRONTS[::2]
    by_front = effect.reshape(-1, 6)
    assert by_front == pytest.approx(np.repeat(by_front[:, :1], 6, axis=1), rel=1e-3)
    assert np.log(by_front[:, 0]).std() == pytest.approx(0.3, abs=4 * 0.3 / (2 * len(by_front)) ** 0.5)
    assert len(set(front)) == len(by_front)
    several = [minutes(taught(panels=Told(tau=0.3)), trial=k)[::2].mean() for k in range(20)]
    usual = [minutes(taught(panels=Told()), trial=k)[::2].mean() for k in range(20)]
    # 2,000 effects of fronts, each with a standard deviation of 0.31.
    assert np.mean(several) / np.mean(usual) == pytest.approx(1, abs=3 * 0.31 / 2000**0.5)
