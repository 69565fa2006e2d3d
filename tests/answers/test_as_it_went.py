"""What nobody timed lies where the plan puts it: a site of a trial whose every minute is known."""

from datetime import timedelta

import numpy as np
import pytest

from support import wharf_in_small as small
from support.foreman import WatchedSite
from towerpace.answers.prepare import prepare
from towerpace.answers.seen.site_state import as_planned_times, chooser_of, site_state
from towerpace.record.moments import shown_minute
from towerpace.record.site_record import read_site_record
from towerpace.record.times import between_sheets
from towerpace.scenario import load

DAY, WEEK = 91, 7 * 1440
SEED, TRIAL = 2, 55  # a mock-up that passes at once, four panels lost and set again


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    ready = prepare(load(small.write(tmp_path_factory.mktemp("small"))))
    return ready, WatchedSite(ready, seed=SEED, trial=TRIAL)


@pytest.fixture(scope="module")
def state(site, tmp_path_factory):
    ready, watched = site
    record = watched.record(tmp_path_factory.mktemp("record"), ready.tower.start + timedelta(DAY - 1))
    return site_state(ready, record, planned=as_planned_times(ready))


@pytest.mark.slow
def test_activities_that_only_the_sheets_tell_of_end_when_they_did(site, state):
    ready, watched = site
    plan, past = ready.tower.plan, state.past
    names = ["crown_anchors", "crown_lifts", "roof_unit_lift", "crane_out", "goods_lift"]
    off = [int(past.ended[plan.index[n]] - watched.diary.finished[plan.index[n]]) / 1440 for n in names]
    # Sheets are a week apart, so that an even share of the week would be off by 1.75 d on average.
    assert np.abs(off).mean() < 1.5
    assert np.abs(off).max() < 7


@pytest.mark.slow
def test_panels_set_again_are_lost_ones_with_all_that_led_to_them(site, state):
    ready, watched = site
    plan, until = ready.tower.plan, DAY * 1440
    lost = {s for fate in ("rejected", "broken") for s in watched.fates[fate]}
    again = {
        s: watched.again[s] for s in lost if s in watched.again and watched.over(watched.again[s], until)
    }
    assert len(again) >= 3
    chooser = chooser_of(state, weather=state, learned=state)
    draw = chooser.draw(1, 0)
    for lift, set_again in again.items():
        assert lift in chooser.known.seen.lost
        assert state.past.ended[set_again] >= 0, plan.names[set_again]
        assert not draw.skip[set_again]


def with_days_of_levels(watched, folder, record):
    """The same record, with a log that times the handovers of the levels and no work."""
    start, until, rows = record.start, record.until, ["what,level,zone,panel,start,finish,unit,outcome,note"]
    for level, step in zip(watched.tower.levels, watched.tower.handover.tolist(), strict=True):
        came = int(watched.diary.finished[step])
        if 0 <= came < until:
            moment = shown_minute(came, start=start)
            rows.append(f"handover,{level},,,{moment},{moment},,,")
    (folder / "log.csv").write_text("\n".join([*rows, ""]), encoding="utf-8")
    files = {name: folder / f"{name}.csv" for name in ("progress", "log", "wind")}
    return read_site_record(watched.scenario, watched.tower, at=record.at, **files)


@pytest.mark.slow
def test_without_a_log_paces_are_learned_from_the_counts(site, tmp_path):
    ready, watched = site
    record = watched.record(tmp_path, ready.tower.start + timedelta(44), log=False)
    planned, settings = as_planned_times(ready), ready.scenario.settings
    seen = site_state(ready, record, planned=planned).seen
    ends, told = np.array([0.1, 0.9]), {trade.trade: trade.told for trade in seen.trades if trade.told}
    assert "brackets" in told
    stated = settings.trade["panels"].pace.quantile(ends)
    # Half way up, panels tell most: they have been at work from the start, without waiting for others.
    # The sheets leave open on which day of a week a level came, so that much of the span stays; it does not
    # where a log tells these days, and nothing else.
    dated = site_state(ready, with_days_of_levels(watched, tmp_path, record), planned=planned).seen
    (told_days,) = (trade.told for trade in dated.trades if trade.trade == "panels")
    spans = [np.ptp(of.quantile(ends)) / np.ptp(stated) for of in (told["panels"], told_days)]
    assert spans[0] < 0.85
    assert spans[1] < 0.75
    assert spans[1] < spans[0] - 0.1
    silent = site_state(ready, record, planned=planned, learn=False).seen
    assert all(trade.told is None for trade in silent.trades)


def test_minutes_inside_their_sheets_stay_and_all_keep_their_order():
    wanted = np.array([50, 3, 120, -1, 80, 200, 3])
    laid = between_sheets(wanted, since=40, until=100)
    assert laid[[0, 4]].tolist() == [50, 80]
    assert 40 <= laid[1] == laid[6] < 50
    assert 80 < laid[2] < laid[5] < laid[3] < 100
