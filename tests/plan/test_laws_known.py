"""Every law of chance once the site runs: it draws what the site has not shown, given what it has."""

from __future__ import annotations

from functools import lru_cache, partial
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from towerpace.draws import stream
from towerpace.plan.arrays import NONE
from towerpace.plan.chance import NOTHING_KNOWN, Drawn, Known
from towerpace.plan.given import given_longer, quantile_above, share_below
from towerpace.plan.laws import Durations, PaceLaw
from towerpace.plan.seen import Seen
from towerpace.plan.site.absences import BreakdownLaw
from towerpace.plan.site.leave_outs import SlowerLaw
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.site.mock_up import TriesLaw
from towerpace.plan.site.paces import RiskFactor
from towerpace.plan.site.risks import ChanceLaw, HandoverLaw, LateLevelLaw
from towerpace.plan.site.slips_seen import Delay
from towerpace.plan.site.truck_laws import TruckLaw
from towerpace.plan.work_law import Term, WorkLaw
from towerpace.scenario.spreads import Spread

DAY_MIN, HOUR_MIN, TRIALS = 1440, 60, 200
WIDE = Spread.pert(low=10, likely=20, high=60)


def site(n, *, at=0, began=(), ended=(), spent=(), since=(), **said):
    """What a site has shown of n steps, by step; of the others nothing."""
    columns = [np.full(n, NONE, dtype=np.int64) for _ in range(4)]
    for column, told in zip(columns, (began, ended, spent, since), strict=True):
        for step, minute in dict(told).items():
            column[step] = minute
    names = ("began", "ended", "spent", "since")
    words = {"share": np.full(n, np.nan), "earliest": columns[1], "latest": columns[1]} | said
    return Known(seen=Seen(data_date_min=at, **dict(zip(names, columns, strict=True)), **words))


def drawn(law, n, known, *, trial=0, date=None):
    into = Drawn(np.zeros(n, dtype=np.int64), np.zeros(n, dtype=np.int64), np.zeros(n, dtype=np.bool_))
    if date is not None:
        into.date[:] = date
    law.apply(into, partial(stream, 5, trial), known)
    return into


def trials(law, n, known, *, read, date=None, count=TRIALS):
    return np.array([read(drawn(law, n, known, trial=trial, date=date)) for trial in range(count)])


def test_what_is_left_of_a_lognormal_is_that_of_its_tail():
    """Of ln x ~ N(3, 0.4) above 30: mean from the truncated law of scipy, 1 % of a wider law aside."""
    rng, law = np.random.default_rng(1), stats.lognorm(s=0.4, scale=np.exp(3.0))
    free = law.rvs(10_000, random_state=rng)
    told = given_longer(
        free, least=np.full(10_000, 30.0), mean=np.full(10_000, law.mean()), log_sd=np.full(10_000, 0.4)
    )
    assert told.min() >= 30
    above = law.expect(lambda x: x, lb=30, ub=np.inf) / law.sf(30)
    assert told.mean() == pytest.approx(above, rel=0.01)
    assert (np.argsort(told) == np.argsort(free)).mean() > 0.99


@pytest.mark.parametrize(
    "spread", [WIDE, Spread.samples([3, 5, 9, 30]), Spread.quantiles(p10=-2, p50=1, p90=8)]
)
def test_a_spread_above_a_value_is_that_share_of_itself(spread):
    u = (np.arange(20_000) + 0.5) / 20_000
    values = spread.quantile(u)
    for least in np.quantile(values, [0.2, 0.6, 0.95]).tolist():
        assert share_below(spread, least) == pytest.approx((values < least).mean(), abs=2e-3)
        above = np.quantile(values[values > least], [0.1, 0.5, 0.9])
        assert [quantile_above(spread, p, least) for p in (0.1, 0.5, 0.9)] == pytest.approx(above, rel=0.02)


def test_beyond_the_highest_stated_there_is_still_some_time_left():
    left = [quantile_above(WIDE, u, 90.0) - 90 for u in (0.1, 0.5, 0.9)]
    assert 0 < left[0] < left[1] < left[2] < 60


def one_task(n=40):
    work = WorkLaw(np.arange(n), np.arange(n), np.ones(n), np.zeros(n), (Term(WIDE, "a"),), pace="seal")
    return Durations((work,), PaceLaw({"seal": Spread.constant(1.0)}, np.eye(1)))


def test_a_task_in_progress_lasts_longer_than_it_did_and_others_as_drawn():
    law = one_task()
    known = site(40, at=100, began={3: 70}, spent={3: 30})
    free = trials(law, 40, NOTHING_KNOWN, read=lambda into: into.work)
    told = trials(law, 40, known, read=lambda into: into.work)
    assert np.delete(told, 3, axis=1).tolist() == np.delete(free, 3, axis=1).tolist()
    assert told[:, 3].min() > 30
    # The memory of a restart would give 24.8 more minutes on average; what is known leaves under half.
    exact = WIDE.quantile(share_below(WIDE, 30) + (1 - share_below(WIDE, 30)) * (np.arange(999) + 0.5) / 999)
    assert told[:, 3].mean() - 30 == pytest.approx(exact.mean() - 30, rel=0.25)
    assert told[:, 3].mean() - 30 < 0.5 * free[:, 3].mean()


def test_a_task_whose_share_is_told_is_drawn_as_ever():
    share = np.full(40, np.nan)
    share[3] = 0.5
    known = site(40, at=100, began={3: 70}, spent={3: 30}, share=share)
    assert drawn(one_task(), 40, known).work.tolist() == drawn(one_task(), 40, NOTHING_KNOWN).work.tolist()


def test_a_leave_out_in_progress_is_slower_only_in_what_is_left():
    law = SlowerLaw("panels", np.array([0, 1]), np.array([0, 1]), Spread.constant(2.0))
    into = Drawn(np.array([50, 50]), np.zeros(2, dtype=np.int64), np.zeros(2, dtype=np.bool_))
    law.apply(into, partial(stream, 5, 0), site(2, at=100, began={0: 70}, spent={0: 30}))
    assert into.work.tolist() == [30 + 2 * 20, 100]


@pytest.mark.parametrize(("befell", "share"), [(True, 0.0), (False, 1.0), (None, 0.7)])
def test_a_risk_has_befallen_is_excluded_or_open(befell, share):
    law = ChanceLaw(np.array([0]), "strike", 0.3)
    known = site(1, risks={} if befell is None else {"strike": befell})
    left_out = trials(law, 1, known, read=lambda into: into.skip[0]).mean()
    assert left_out == pytest.approx(share, abs=0 if befell is not None else 4 * (0.21 / TRIALS) ** 0.5)


def test_a_risk_that_has_befallen_slows_its_trade_in_every_trial():
    strike = RiskFactor("seal", "strike", 0.1, Spread.constant(2.0))
    streams = partial(stream, 5, 0)
    assert strike.factor(streams, site(1, risks={"strike": True})) == 2.0
    assert strike.factor(streams, site(1, risks={"strike": False})) == 1.0


LEVELS = HandoverLaw(
    np.arange(4), DAY_MIN * np.array([10, 20, 30, 40]), Spread.pert(low=-1, likely=0, high=5)
)


def test_slips_go_on_from_the_last_level_handed_over():
    known = site(
        4,
        at=26 * DAY_MIN,
        began={0: 13 * DAY_MIN, 1: 26 * DAY_MIN - 9},
        ended={0: 13 * DAY_MIN, 1: 26 * DAY_MIN - 9},
    )
    dates = trials(LEVELS, 4, known, read=lambda into: into.date) / DAY_MIN
    slips = LEVELS.slip_days.mean()
    assert dates[:, 2].mean() == pytest.approx(36 + slips, abs=0.2)
    assert dates[:, 3].mean() == pytest.approx(46 + 2 * slips, abs=0.3)


def test_a_level_that_is_not_there_comes_after_today():
    at = 33 * DAY_MIN
    stamps = {0: 10 * DAY_MIN, 1: 20 * DAY_MIN}
    known = site(4, at=at, began=stamps, ended=stamps)
    dates = trials(LEVELS, 4, known, read=lambda into: into.date)
    assert dates[:, 2].min() >= at
    slips = LEVELS.slip_days.quantile((np.arange(9999) + 0.5) / 9999)
    assert dates[:, 2].mean() / DAY_MIN == pytest.approx(30 + slips[slips > 3].mean(), abs=0.1)


def test_the_delay_of_a_late_level_is_not_counted_twice():
    """Due on day 30 and not there on day 35: the risk of 4 to 16 days says so, and no slip on top of it."""
    risk = LateLevelLaw(np.array([2, 3]), "frost", 0.2, Spread.pert(low=4, likely=10, high=16))
    levels = HandoverLaw(
        LEVELS.steps, LEVELS.planned, Spread.constant(0), delays=(Delay("frost", 2, risk.chance, risk.size),)
    )
    stamps = {0: 10 * DAY_MIN, 1: 20 * DAY_MIN}
    known = site(4, at=35 * DAY_MIN, began=stamps, ended=stamps, risks={"frost": True})

    def both(into_trial):
        into = drawn(levels, 4, known, trial=into_trial)
        risk.apply(into, partial(stream, 5, into_trial), known)
        return into.date[2] / DAY_MIN

    days = np.array([both(trial) for trial in range(TRIALS)])
    sizes = risk.size.quantile((np.arange(9999) + 0.5) / 9999)
    assert days.min() >= 35
    assert days.mean() == pytest.approx(30 + sizes[sizes > 5].mean(), abs=0.4)
    handed = site(4, at=50 * DAY_MIN, began={2: 45 * DAY_MIN}, ended={2: 45 * DAY_MIN}, risks={"frost": True})
    assert drawn(risk, 4, handed).date.tolist() == [0, 0, 0, 0]


def trucks(**terms):
    usual = {"late_h": Spread.pert(low=1, likely=4, high=30), "late_chance": 0.2, "lead_days": None}
    usual |= {"early_h": Spread.pert(low=1, likely=2, high=6), "early_chance": 0.1, "accept_early": True}
    return TruckLaw(np.arange(2), np.arange(2), np.array([6000, 9000]), SimpleNamespace(**usual | terms))


@lru_cache
def free_trucks():
    return trials(trucks(), 2, NOTHING_KNOWN, read=lambda into: into.date, count=4000)


@pytest.mark.parametrize("after_h", [-3, -1, 0, 5, 12])
def test_an_overdue_truck_comes_as_those_that_were_as_late(after_h):
    """Against the trials without knowledge in which the truck came later than that: Bayes by counting."""
    at = 6000 + after_h * HOUR_MIN
    free = free_trucks()
    told = trials(trucks(), 2, site(2, at=at, since={0: 0}), read=lambda into: into.date, count=400)
    alike = free[free[:, 0] > at, 0]
    assert told[:, 0].min() > at
    assert stats.ks_2samp(told[:, 0], alike).pvalue > 1e-3
    assert told[:, 1].tolist() == free[:400, 1].tolist()


def test_a_truck_on_call_is_as_late_as_its_way_has_been_long():
    law = trucks(lead_days=Spread.constant(2.0), early_h=None, early_chance=None)
    told = trials(
        law, 2, site(2, at=5000, since={0: 5000 - 2 * DAY_MIN - 300}), read=lambda into: into.work[0]
    )
    late = law.delivery.late_h.quantile((np.arange(9999) + 0.5) / 9999)
    assert told.mean() - 2 * DAY_MIN == pytest.approx(HOUR_MIN * late[late > 5].mean(), rel=0.05)
    assert told.min() > 2 * DAY_MIN + 300


def test_tries_that_failed_have_failed_and_one_that_passed_has_passed():
    law = TriesLaw(np.arange(6).reshape(3, 2), 0.6)
    failed = trials(law, 6, site(6, failed_tries=2), read=lambda into: into.skip)
    assert not failed[:, :4].any()
    assert failed[:, 4].mean() == pytest.approx(0.6, abs=4 * (0.24 / TRIALS) ** 0.5)
    passed = drawn(law, 6, site(6, failed_tries=1, passed=True)).skip
    assert passed.tolist() == [False, False, True, True, True, True]


def hoist(by_clock=True):
    every = Spread.pert(low=100, likely=200, high=600)
    wear = SimpleNamespace(every_h=every, repair_h=Spread.constant(10.0), swap_h=None)
    law = BreakdownLaw(
        "hoist",
        np.arange(0, 40, 2).reshape(1, 20),
        np.arange(1, 40, 2).reshape(1, 20),
        np.zeros(1, dtype=np.int64),
        (np.empty((0, 2), dtype=np.int64),),
        np.array([by_clock]),
        wear,
    )
    return law, every


def test_failures_of_the_past_that_nobody_told_are_over():
    """At day 100 the next failure is as far as in a renewal process: (m + s2 / m) / 2 without repairs."""
    law, every = hoist()
    at = 100 * DAY_MIN
    first = trials(law, 40, site(40, at=at), read=lambda into: into.work[0])
    assert first.min() >= at
    mean, sd = every.mean(), every.sd()
    residual_h = (first - at).mean() / HOUR_MIN
    # Repairs of 10 h in a cycle of 260 h add no more than their share.
    assert residual_h == pytest.approx((mean + sd**2 / mean) / 2, rel=0.1)
    free = trials(law, 40, NOTHING_KNOWN, read=lambda into: into.work[0])
    assert (free < at).all()  # all of the past fell due at once
    paused = trials(hoist(by_clock=False)[0], 40, site(40, at=at), read=lambda into: into.work[0])
    assert paused.tolist() == (first - at).tolist()


def test_the_gap_after_a_repair_that_was_told_is_longer_than_the_time_since():
    law, every = hoist()
    at = 500 * HOUR_MIN
    stamps = {0: 0, 1: 190 * HOUR_MIN, 2: 200 * HOUR_MIN}
    known = site(
        40, at=at, began=stamps, ended={0: 190 * HOUR_MIN, 1: 200 * HOUR_MIN}, spent={2: 300 * HOUR_MIN}
    )
    gaps = trials(law, 40, known, read=lambda into: into.work[2]) / HOUR_MIN
    exact = every.quantile((np.arange(9999) + 0.5) / 9999)
    assert gaps.min() > 300
    assert gaps.mean() == pytest.approx(exact[exact > 300].mean(), rel=0.03)


def losses(n=60, *, spares=0, remake=WIDE, later=0.0):
    steps = np.arange(4 * n).reshape(4, n)
    chances = {"reject_chance": 0.2, "handling_break_chance": 0.2, "later_break_chance": later}
    family = SimpleNamespace(
        chance=lambda key: chances.get(key, 0.0),
        spares=spares,
        spare_days=1.0,
        remake_days=remake,
        later_found_days=Spread.pert(low=0, likely=10, high=40),
        misfit_min=None,
    )
    unfit, broken, late = (steps[k][:, None] for k in (1, 2, 3))
    nothing = np.full((n, 1), NONE)
    return LossLaw(
        "panels",
        (family,),
        np.zeros(n, dtype=np.int64),
        np.arange(n),
        unfit,
        broken,
        late if later else nothing,
        steps[0],
        np.ones(n, dtype=np.bool_),
        steps[1],
        steps[2],
    )


def test_a_panel_that_is_set_is_whole_and_one_that_was_lost_is_lost():
    law, n = losses(), 240
    done = dict.fromkeys(range(20), 50)
    known = site(n, at=100, began=done, ended=done, lost={0: False, 30: True})
    told = trials(law, n, known, read=lambda into: into.skip, count=60)
    unfit, broken = ~told[:, 60:120], ~told[:, 120:180]
    assert not unfit[:, :20].any()
    assert not broken[:, 1:20].any()
    assert broken[:, 0].all()
    assert unfit[:, 30].all()
    assert told[:, 30].all()
    free = trials(law, n, NOTHING_KNOWN, read=lambda into: into.skip, count=60)
    others = [k for k in range(20, 60) if k != 30]
    assert unfit[:, others].tolist() == (~free[:, 60:120])[:, others].tolist()


def test_spares_go_to_those_that_were_found_first_and_remakes_last_longer_than_so_far():
    law = losses(spares=1)
    began, spent = {120: 30, 121: 20 * DAY_MIN, 122: 10 * DAY_MIN}, {121: 20 * DAY_MIN}
    done = dict.fromkeys(range(3), 50)
    known = site(
        240,
        at=40 * DAY_MIN,
        began=began | done,
        ended=done | {120: 90},
        spent=spent,
        lost={0: False, 1: False},
    )
    work = trials(law, 240, known, read=lambda into: into.work[[120, 121]])
    assert (work[:, 0] == DAY_MIN).all()
    assert work[:, 1].min() > 20 * DAY_MIN
    exact = WIDE.quantile((np.arange(9999) + 0.5) / 9999)
    assert work[:, 1].mean() / DAY_MIN == pytest.approx(exact[exact > 20].mean(), rel=0.05)


def test_a_break_that_nobody_has_found_since_is_less_likely_and_found_later():
    law = losses(later=0.5, remake=Spread.constant(5))
    done = dict.fromkeys(range(60), 50)
    since = dict.fromkeys(range(180, 240), 0)
    known = site(240, at=14 * DAY_MIN, began=done, ended=done, since=since)
    told = trials(law, 240, known, read=lambda into: (~into.skip[180:], into.work[180:]), count=60)
    found = share_below(Spread.pert(low=0, likely=10, high=40), 14.0)
    broken = told[:, 0].astype(bool)
    assert broken.mean() == pytest.approx(0.5 * (1 - found) / (1 - 0.5 * found), abs=0.03)
    assert told[:, 1][broken].min() >= (14 + 5) * DAY_MIN - 1


def test_a_break_found_later_that_was_told_is_made_anew_in_every_trial():
    """Found and remade for 20 days so far: at least so long, and drawn, not what the plan expects."""
    law = losses(later=0.05, remake=Spread.constant(5))
    done = dict.fromkeys(range(60), 50)
    known = site(
        240, at=40 * DAY_MIN, began=done | {181: 20 * DAY_MIN}, ended=done, spent={181: 20 * DAY_MIN}
    )
    told = trials(law, 240, known, read=lambda into: (into.skip[181], into.work[181]), count=60)
    assert not told[:, 0].any()
    assert told[:, 1].min() >= 20 * DAY_MIN
    assert len(set(told[:, 1].tolist())) > 50
