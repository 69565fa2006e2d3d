"""Paces learned from counts alone, and trials that go on from what a site has shown."""

from pathlib import Path

import numpy as np
import pytest

from support.updated_site import DAY_MIN, TRADES, Certain, Seen, write_site
from towerpace import Plan, Step, run
from towerpace.answers.learn.from_sheet import shares_done
from towerpace.answers.learn.site import pace_law
from towerpace.plan.chance import NOTHING_KNOWN, Known
from towerpace.plan.learned import LearnedPaces, front_numbers
from towerpace.plan.pins import resumed

RECORD = Path(__file__).parents[2] / "scenarios" / "weather" / "laguardia_2013_hourly.csv"
AT = 40 * DAY_MIN


@pytest.fixture(scope="module")
def prepared(tmp_path_factory):
    return write_site(tmp_path_factory.mktemp("updated"), record=RECORD)


def site(prepared, level):
    """A site on which all trades have this pace."""
    paces = {name: Certain(level) for name, *_ in TRADES}
    known = Known(learned=LearnedPaces(paces, front_numbers(prepared.tower.plan)))
    return Seen(prepared, seed=2, trial=0, known=known)


def test_shares_by_hand():
    """Of 30, 20 and 10 minutes one behind the other, at minute 40: all, half, none."""
    diary = run(Plan([Step("a", 30), Step("b", 20, after=["a"]), Step("c", 10, after=["b"])]))
    assert shares_done(diary, at=40).tolist() == [1.0, 0.5, 0.0]
    assert shares_done(diary, at=60).tolist() == [1.0, 1.0, 1.0]


def test_pinned_trials_are_those_that_repeat_what_the_site_drew(prepared):
    """Minutes, dates and weather of the site make its past anew: the same diaries without any pin."""
    seen = site(prepared, 1.1)
    begun = (seen.diary.started >= 0) & (seen.diary.started < AT)
    pinned = seen.continued(AT, NOTHING_KNOWN, seed=5, trials=3)
    for draw, again in zip(pinned, seen.replayed(AT, NOTHING_KNOWN, seed=5, trials=3), strict=True):
        diary, repeated = run(resumed(seen.plan, AT), draw), run(seen.plan, again)
        assert (diary.started[begun] == seen.diary.started[begun]).all()
        assert (diary.started[~begun] >= AT).all()
        assert (diary.started == repeated.started).all()
        assert (diary.finished == repeated.finished).all()


def test_counts_tell_slow_sites_from_fast_ones_while_work_is_going_on(prepared):
    """After 20 days brackets are under way in all trials; framing has not begun and stays as stated."""
    slow, fast = (site(prepared, level).counted(AT // 2, seed=4, trials=60).learned for level in (1.35, 0.85))
    assert slow.paces["brackets"].quantile(0.5) > 1.15
    assert fast.paces["brackets"].quantile(0.5) < 1.0
    ends = np.array([0.1, 0.9])
    stated = pace_law(prepared.tower).spreads["brackets"].quantile(ends)
    assert np.diff(slow.paces["brackets"].quantile(ends)) < 0.8 * np.diff(stated)
    assert np.diff(slow.paces["framing"].quantile(ends)) > 0.8 * np.diff(stated)


def test_a_log_tells_the_level_and_forecasts_what_a_slow_site_will_take(prepared):
    """As stated, nobody would believe the finish of a site as slow as this."""
    seen = site(prepared, 1.45)
    known = seen.learned(AT)
    low, high = known.learned.paces["brackets"].quantile(np.array([0.005, 0.995]))
    assert low < 1.45 < high
    stated, learned = (seen.finishes(AT, k, seed=5, trials=25) for k in (NOTHING_KNOWN, known))
    assert abs(np.median(learned) - seen.diary.finish) < 0.5 * abs(np.median(stated) - seen.diary.finish)
