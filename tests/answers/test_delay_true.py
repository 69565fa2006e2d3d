"""Days found from the files of small sites, beside the true ones of the trials that are those sites."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from support import late_site, wharf_in_small
from support.late_site import DUE_D, LATE_D, START, A, B, LateSite, write_late_site
from support.late_wharf import LATE_LEVEL, LateWharf
from towerpace.answers.delay.concurrency import pair
from towerpace.answers.delay.delay import Delays
from towerpace.answers.delay.played import SitePlayed, TrialsOf
from towerpace.answers.prepare import prepare
from towerpace.answers.seen.reading import Reading
from towerpace.engine.fastest import run
from towerpace.plan.arrays import NONE
from towerpace.scenario import load
from towerpace.units import DAY_MIN


@pytest.fixture(scope="module")
def sites(tmp_path_factory):
    """Two sites, each with its true days and those found; `bench_delays` has a hundred."""
    found = []
    for trial in range(2):
        folder = tmp_path_factory.mktemp("late")
        site = LateSite(write_late_site(folder), seed=11, trial=trial)
        delays = Delays(site.played(folder, trials=30, seed=1000))
        found.append((pair(lambda befell, site=site: np.array([site.days(befell)]), A, B), delays))
    return found


def test_a_replay_of_all_that_was_seen_is_the_record(sites):
    """The site obeys the model and its log is whole: no minute is left unexplained."""
    assert [single.unexplained.tolist() for _, delays in sites for single in delays.singles] == [
        [0.0] * 30
    ] * 4


def test_the_days_of_a_late_level_are_found_and_are_not_those_it_was_late(sites):
    for true, delays in sites:
        days = delays.together.pairs[A, B].alone
        assert days.min() <= true.alone[0] <= days.max()
        assert abs(days.mean() - true.alone[0]) < 2 < LATE_D - true.alone[0]


def test_shares_and_pairs_add_up_in_every_trial(sites):
    for _, delays in sites:
        together = delays.together
        assert np.allclose(sum(together.shares.values()), together.whole)
        assert np.allclose(together.pairs[A, B].both, together.whole)


@pytest.fixture(scope="module")
def untimed(tmp_path_factory):
    """A site of which there are weekly sheets alone."""
    folder = tmp_path_factory.mktemp("untimed")
    site = LateSite(write_late_site(folder), seed=11, trial=0)
    return site.ready, site.played(folder, trials=2, seed=1000, log=False)


def test_work_under_way_that_nobody_timed_is_drawn_and_ends_between_the_sheets_that_saw_it(untimed):
    """Its reconstructed minutes are one guess: taken as seen they would make every trial alike."""
    _, site = untimed
    chooser, past = site.chooser(DUE_D * DAY_MIN), site.state.past
    draws = [chooser.draw(1000, trial) for trial in range(12)]
    under_way = draws[0].pins.pinned & (draws[0].pins.ended == NONE) & (past.ended != NONE)
    sheets = np.array([7, 14, 21, 28, 32]) * DAY_MIN
    last = sheets[np.searchsorted(sheets, np.maximum(past.ended, past.undone + 1)[under_way])]
    ends = np.array([run(chooser.plan, draw).finished[under_way] for draw in draws])
    assert under_way.sum() >= 2
    assert (np.array([draw.work[under_way] for draw in draws]).std(axis=0) > 0).all()
    assert ((ends >= past.undone[under_way]) & (ends <= last)).all()


def test_counts_of_held_work_do_not_make_its_trade_slow(tmp_path, monkeypatch):
    """Without the event the six days that the first trade was held would be put down to its pace."""
    monkeypatch.setattr(late_site, "HELD_TRADE", "trade_1")
    monkeypatch.setattr(late_site, "HELD_D", (2, 8))
    site = LateSite(write_late_site(tmp_path), seed=11, trial=0)
    whole = site.played(tmp_path, trials=2, seed=1000, log=False)
    record = whole.state.record.as_of(START + timedelta(days=13))
    told, blind = (
        SitePlayed.seen_at(
            site.ready, record, reading=Reading(events=events), how=TrialsOf(trials=2, seed=1000)
        )
        for events in (whole.events, tuple(event for event in whole.events if event.name == A))
    )
    slow, slower = (
        next(float(seen.told.quantile(0.5)) for seen in of.state.seen.trades if seen.trade == "trade_1")
        for of in (told, blind)
    )
    assert slow < 0.97 * slower


@pytest.fixture(scope="module")
def wharf(tmp_path_factory):
    """A small wharf with hoists that fail, trucks and levels, of which there are weekly sheets and a log."""
    folder = tmp_path_factory.mktemp("wharf")
    ready = prepare(load(wharf_in_small.write(folder / "wharf")))
    site = LateWharf(ready, seed=3, trial=0)
    return ready, site, site.played(folder, ready, seed=1003)


def test_failures_that_nobody_told_befall_a_replay_as_often_as_any_trial(wharf):
    """Played from its third week on, a site has as many failures by the data date as one that nobody saw.

    Before the replay begins they are over; without them every replay was quicker than its record.
    """
    ready, site, played = wharf
    since, until, plan = 21 * DAY_MIN, played.known.until, site.plan
    runs = np.array([step for step, name in enumerate(plan.names) if ": until breakdown" in name])
    chooser = played.chooser(since)

    def failures(diaries):
        ends = np.array([diary.finished[runs] for diary in diaries])
        return ((ends > since) & (ends <= until)).sum(axis=1)

    replays = failures([run(chooser.plan, chooser.draw(1, t)) for t in range(60)])
    usual = failures([run(plan, ready.chooser.draw(2, t)) for t in range(60)])
    error = np.hypot(replays.std(ddof=1), usual.std(ddof=1)) / 60**0.5
    assert usual.mean() > 1
    assert abs(replays.mean() - usual.mean()) < 3 * error
    recorded = played.chooser(until)
    assert not failures([run(recorded.plan, recorded.draw(1, t)) for t in range(3)]).any()


def test_a_day_that_only_sheets_tell_is_drawn_inside_them_and_a_told_one_is_kept(wharf):
    """The event dates the first late level; when those above it came in their week nobody knows."""
    _, site, played = wharf
    past, levels = played.state.past, site.tower.handover
    event = played.events[0]
    since = event.from_min(site.tower.start)
    first, above = (int(levels[site.tower.levels.index(level)]) for level in (LATE_LEVEL, LATE_LEVEL + 1))
    dates = np.array([played.chooser(since).draw(1, t).date[[first, above]] for t in range(20)])
    assert set(dates[:, 0]) == {event.to_min(site.tower.start, seen_until=played.known.until)}
    assert dates[:, 1].std() > DAY_MIN / 4
    assert (dates[:, 1] <= past.latest[above]).all()
    assert (dates[:, 1] >= past.earliest[above]).all()
