"""Breakdown and repair, and trying until it passes, played by the engine.

Oracles: the two-state Markov chain of a machine that fails and is mended, and a finite source of failures
with one repairman, both in closed form (R. E. Barlow & F. Proschan, Mathematical Theory of Reliability, 1965,
from memory, recomputed); the geometric and the negative binomial law for tries. A breakdown is a step per
failure that takes the unit before anybody else; a try is a step that is skipped once an earlier one passed.

Failures 120 h apart, repairs of 6 h unless said otherwise, all exponential. Standard errors are those of
independent repetitions.
"""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from support.drawn import drawn
from support.estimates import Estimate, mean_of, share_of
from towerpace import Plan, Pool, Step, run
from towerpace.draws import stream

HOUR_MIN = 60
FAIL_H, MEND_H = 120, 6
UP = FAIL_H / (FAIL_H + MEND_H)


def machine_steps(name, *, failures, mended_by=None):
    """A machine's life: up, down, up, down ..., each down mended by a unit of a pool if one is named."""
    steps = []
    for k in range(failures):
        steps += [
            Step(f"{name} up {k}", after=[f"{name} down {k - 1}"] if k else []),
            Step(f"{name} down {k}", after=[f"{name} up {k}"], needs={mended_by: 1} if mended_by else {}),
        ]
    return steps


def lives_min(count, failures, *, purpose, fail_h=FAIL_H, mend_h=MEND_H):
    """Exponential lives and repairs of machines, (count, failures, 2), whole and at least 1. [min]"""
    rng = stream(91, 0, purpose)
    return np.stack(
        [
            rng.geometric(1 / (fail_h * HOUR_MIN), (count, failures)),
            rng.geometric(1 / (mend_h * HOUR_MIN), (count, failures)),
        ],
        axis=2,
    )


@lru_cache
def young_machines():
    """Minutes at which 10,000 machines, up at first, fail and are mended, (machines, 8); -1 after 24 h."""
    count, failures = 10_000, 4
    steps = [s for m in range(count) for s in machine_steps(f"{m}", failures=failures)]
    plan = Plan(steps, horizon=24 * HOUR_MIN)
    diary = run(plan, drawn(plan, work=lives_min(count, failures, purpose="young")))
    return diary.finished.reshape(count, 2 * failures)


def is_up(at_min, events):
    """Up at a minute: an even number of failures and repairs have happened."""
    return ((events >= 0) & (events <= at_min)).sum(axis=1) % 2 == 0


@pytest.mark.slow
@pytest.mark.parametrize(("at_h", "available"), [(4, 0.976028), (24, 0.953095)])
def test_a_new_machine_is_up_as_often_as_the_chain_says(at_h, available, stand):
    """A + (1 - A) exp(-(1/120 + 1/6) t). Standard error 0.15 to 0.2 %, sees 1 %; A itself is 0.952."""
    exact = UP + (1 - UP) * np.exp(-(1 / FAIL_H + 1 / MEND_H) * at_h)
    assert exact == pytest.approx(available, abs=1e-6)
    # the horizon ends the play at 24 h: one minute before it the state is still known
    got = share_of(is_up(at_h * HOUR_MIN - 1, young_machines()))
    check = f"availability {at_h} h after a start, failures 120 h apart, repairs 6 h"
    stand(check, "Barlow & Proschan 1965", expected=available, got=got, sees=0.01)


@pytest.mark.slow
def test_a_new_machine_is_up_for_the_published_share_of_its_first_day():
    """0.963549 over 24 h, sampled every ten minutes. Standard error 0.1 %, sees 0.5 %."""
    minutes = np.arange(5, 24 * HOUR_MIN, 10)
    share = np.mean([is_up(t, young_machines()) for t in minutes], axis=0)
    assert mean_of(share).agrees(0.963549, sees=0.005)


@lru_cache
def time_shares(menders):
    """Shares of the time with 0, 1, 2 and 3 of three machines up, by repetition, (repetitions, 4)."""
    repetitions, failures = 40, 250
    steps = [s for m in range(3) for s in machine_steps(f"{m}", failures=failures, mended_by="mender")]
    plan = Plan(steps, pools=[Pool("mender", menders, order="first come")])
    shares = []
    for k in range(repetitions):
        work = lives_min(3, failures, purpose=f"old {menders} {k}")
        events = run(plan, drawn(plan, work=work)).finished.reshape(3, 2 * failures)
        until = int(events[:, -1].min())
        at = np.sort(np.concatenate([[0, until], events[events < until]]))
        up = sum(np.searchsorted(row, at[:-1], side="right") % 2 == 0 for row in events)
        shares.append(np.bincount(up, weights=np.diff(at), minlength=4) / until)
    return np.array(shares)


@pytest.mark.slow
def test_machines_with_a_mender_each_have_the_published_availability(stand):
    """One machine 0.952381; 2 of 3 up 0.993413; all three A^3. Standard error 0.02 to 0.12 %."""
    shares = time_shares(3)
    got = mean_of(shares @ [0, 1 / 3, 2 / 3, 1]), mean_of(shares[:, 2:].sum(axis=1))
    check = "share of the time with one machine up, with 2 of 3 up"
    stand(check, "Barlow & Proschan 1965", expected=(0.952381, 0.993413), got=got, sees=0.003)
    assert mean_of(shares[:, 3]).agrees(UP**3, sees=0.01)


@pytest.mark.slow
def test_of_two_machines_one_is_nearly_always_up():
    """1 - (1 - A)^2 = 0.997732; of three alike, a given two are both down with P(3 down) + P(2 down) / 3."""
    shares = time_shares(3)
    both_down = shares[:, 0] + shares[:, 1] / 3
    assert pytest.approx(0.997732, abs=1e-6) == 1 - (1 - UP) ** 2
    assert mean_of(1 - both_down).agrees(0.997732, sees=0.001)
    assert mean_of(both_down).agrees(1 - 0.997732, sees=0.15)


@pytest.mark.slow
def test_one_mender_for_three_machines_leaves_the_published_number_up(stand):
    """Finite source with one repairman: 2.843663 up on average, against 3 A = 2.857143 with a mender each.

    Standard error 0.05 %; sees 0.4 %, less than the half per cent between the two.
    """
    load = MEND_H / FAIL_H
    weights = np.cumprod([1, 3 * load, 2 * load, load])
    exact = float(weights @ [3, 2, 1, 0] / weights.sum())
    assert exact == pytest.approx(2.843663, abs=1e-6)
    one, each = (mean_of(time_shares(menders) @ [0, 1, 2, 3]) for menders in (1, 3))
    check = "machines up of three with one mender"
    stand(check, "finite-source queue, closed form", expected=2.843663, got=one, sees=0.004)
    assert each.agrees(3 * UP, sees=0.004)


def test_two_machines_in_series_are_up_for_the_product_of_their_shares(stand):
    """(120, 6) and (200, 8): 0.952381 x 0.961538 = 0.915751; standard error 0.1 %, sees 0.5 %."""
    failures, repetitions = 250, 40
    plan = Plan([s for m in ("hoist", "crane") for s in machine_steps(m, failures=failures)])
    shares = []
    for k in range(repetitions):
        work = [
            lives_min(1, failures, purpose=f"hoist {k}"),
            lives_min(1, failures, purpose=f"crane {k}", fail_h=200, mend_h=8),
        ]
        events = run(plan, drawn(plan, work=np.concatenate(work))).finished.reshape(2, 2 * failures)
        until = int(events[:, -1].min())
        at = np.sort(np.concatenate([[0, until], events[events < until]]))
        up = [np.searchsorted(row, at[:-1], side="right") % 2 == 0 for row in events]
        shares.append(np.diff(at)[up[0] & up[1]].sum() / until)
    check = "two machines in series: share of the time both are up"
    stand(check, "product of the shares", expected=0.915751, got=mean_of(shares), sees=0.005)


JOB_H = 24


@pytest.mark.slow
def test_a_crane_that_breaks_down_between_jobs_works_for_the_exact_share():
    """Jobs of 24 h in a row; a failure waits for the job to end, then takes the crane before all others.

    Jobs between two repairs: E[ceil(U / 24 h)] = 1 / (1 - (1 - q)^1440), U geometric, q = 1/7200 a minute.
    The crane works for 132.39 of 138.39 h, 0.9566; failures that interrupt would leave 0.9524, 0.45 % less.
    Standard error 0.08 %, sees 0.4 %.
    """
    failures, jobs = 6000, 36_000
    breakdowns = [
        replace(s, optional=True) for s in machine_steps("crane", failures=failures, mended_by="crane")
    ]
    chain = [
        Step(
            f"job {k}", work=JOB_H * HOUR_MIN, after=[f"job {k - 1}"] if k else [], needs={"crane": 1}, rank=1
        )
        for k in range(jobs)
    ]
    plan = Plan([*breakdowns, *chain], pools=[Pool("crane", 1)])
    work = plan.work.copy()
    work[: 2 * failures] = lives_min(1, failures, purpose="crane alone").reshape(-1)
    diary = run(plan, drawn(plan, work=work))
    mended = diary.finished[1 : 2 * failures : 2].astype(np.int64)
    assert 0 < mended[-1] < diary.finished_at(f"job {jobs - 1}")
    done = np.searchsorted(diary.finished[2 * failures :], mended, side="right")
    worked_h, cycle_h = JOB_H * np.diff(done, prepend=0), np.diff(mended, prepend=0) / HOUR_MIN
    exact_h = JOB_H / (1 - (1 - 1 / (FAIL_H * HOUR_MIN)) ** (JOB_H * HOUR_MIN))
    exact = exact_h / (exact_h + MEND_H)
    assert mean_of(worked_h).agrees(exact_h, sees=0.06)
    # A ratio of means: its error is that of worked - exact x cycle, over the mean cycle.
    ratio = mean_of(worked_h - exact * cycle_h)
    share = Estimate(exact + ratio.value / cycle_h.mean(), ratio.error / cycle_h.mean())
    assert share.agrees(exact, sees=0.004)


TRY_D, DAY_MIN, PASSES = 15, 1440, 0.6
MOST_TRIES = 24  # all fail with chance 0.4^24 < 1e-9


def tries_plan(*, mockups, in_a_row):
    """Mock-ups, each tried until it passes; one after the other, or all at the same time."""
    steps = []
    for m in range(mockups):
        last = f"{m - 1} try {MOST_TRIES - 1}" if m and in_a_row else None
        for k in range(MOST_TRIES):
            after = [last] if last else []
            last = f"{m} try {k}"
            steps.append(Step(last, work=TRY_D * DAY_MIN, after=after, skip=f"{m} passed before {k}"))
    return Plan(steps)


def finishes_in_tries(*, mockups, in_a_row, cap=MOST_TRIES, trials=4000):
    """Finish of every trial, in tries, and the tries that each mock-up needed."""
    plan = tries_plan(mockups=mockups, in_a_row=in_a_row)
    passed = stream(92, 0, f"{mockups} {in_a_row} {cap}").random((trials, mockups, MOST_TRIES)) < PASSES
    needed = passed.argmax(axis=2) + 1
    finishes = []
    for tries in np.minimum(needed, cap):
        skip = np.arange(MOST_TRIES)[np.newaxis] >= tries[:, np.newaxis]
        diary = run(plan, replace(drawn(plan), skip=skip.reshape(-1)))
        assert diary.finish is not None
        finishes.append(diary.finish / (TRY_D * DAY_MIN))
    return np.array(finishes), needed


@pytest.mark.slow
def test_a_mockup_of_15_days_a_try_passes_after_25_days_on_average(stand):
    """Geometric with p = 0.6: mean 25 d, P(more than 2 tries) 0.16. Standard error 1.0 % and 3.6 %."""
    finishes, _ = finishes_in_tries(mockups=1, in_a_row=False)
    got = mean_of(TRY_D * finishes)
    stand("mock-up, 15 d a try, passes 0.6: mean [d]", "geometric law", expected=25, got=got, sees=0.05)
    assert share_of(finishes > 2).agrees(0.16, sees=0.2)


@pytest.mark.slow
def test_a_mockup_tried_three_times_at_most_needs_1_56_tries_and_may_fail():
    """E = 1 + 0.4 + 0.16 = 1.56; P(fails) = 0.4^3 = 0.064. Standard error 0.8 % and 6 %."""
    finishes, needed = finishes_in_tries(mockups=1, in_a_row=False, cap=3)
    assert finishes.max() == 3
    assert mean_of(finishes).agrees(1.56, sees=0.04)
    assert share_of(needed > 3).agrees(0.064, sees=0.3)


@pytest.mark.slow
def test_three_mockups_at_once_wait_for_the_slowest(stand):
    """E max = sum over k of 1 - (1 - 0.4^k)^3 = 2.496947 tries, not 1.667. Standard error 0.8 %, sees 4 %."""
    exact = sum(1 - (1 - 0.4**k) ** 3 for k in range(60))
    assert exact == pytest.approx(2.496947, abs=1e-6)
    finishes, _ = finishes_in_tries(mockups=3, in_a_row=False)
    got = mean_of(finishes)
    stand("three mock-ups at once: tries", "latest of three geometric", expected=2.496947, got=got, sees=0.04)


@pytest.mark.slow
def test_four_acceptances_in_a_row_follow_the_negative_binomial_law():
    """Mean 4 / 0.6 = 6.6667 tries, variance 4 x 0.4 / 0.36 = 4.4444. Standard error 0.5 % and 2.6 %."""
    finishes, _ = finishes_in_tries(mockups=4, in_a_row=True)
    assert mean_of(finishes).agrees(4 / 0.6, sees=0.03)
    assert mean_of((finishes - 4 / 0.6) ** 2).agrees(4.4444, sees=0.15)
