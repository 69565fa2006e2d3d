"""Marks of forecasts that are right, and of those that are wrong, over simulated sites; promises of one site.

`tests/bench/bench_scores.py` and `bench_promises.py` measure the same on two hundred sites.
"""

from dataclasses import replace

import numpy as np
import pytest

from support import wharf_in_small
from support.bare import bare
from support.foreman import WatchedSite
from support.logged_site import Truth
from support.marked_site import days_of, marked, write_site
from support.promised_site import kept, looked, promises_of
from towerpace import forecast, score
from towerpace.answers.ahead.ahead_said import said
from towerpace.answers.prepare import prepare
from towerpace.record.moments import end_of
from towerpace.record.promises import COLUMNS
from towerpace.render.folder import save
from towerpace.scenario import load

SITES, TRIALS = 40, 29


@pytest.fixture(scope="module")
def marks(tmp_path_factory):
    """Chance of so bad a score, and mean place, (2, SITES): of right forecasts and of wrong ones."""
    ready = prepare(load(write_site(tmp_path_factory.mktemp("marked"))))
    slow = dict.fromkeys(ready.tower.trades, Truth(1.4))
    told = []
    for site in range(SITES):
        trials = days_of(ready, seed=site, trials=range(TRIALS))
        last = range(TRIALS, TRIALS + 1)
        seen = int(0.8 * np.median(trials[:, 0]))
        for truths in (None, slow):
            (came,) = days_of(ready, seed=site, trials=last, truths=truths)
            one = marked(ready, trials, came, seen=seen)
            told.append((one.score_as_badly, one.places.mean()))
    return np.array(told).reshape(SITES, 2, 2)


def test_right_forecasts_are_called_wrong_as_often_as_said(marks):
    """The chance of so bad a score is even over its 30 values; the place of what came is half in the mean."""
    as_badly, place = marks[:, 0].T
    error = (1 / 12 / SITES) ** 0.5
    assert as_badly.mean() == pytest.approx(0.5 + 0.5 / (TRIALS + 1), abs=3 * error)
    assert (as_badly <= 0.2).mean() == pytest.approx(0.2, abs=3 * (0.2 * 0.8 / SITES) ** 0.5)
    assert place.mean() == pytest.approx(0.5, abs=3 * error)


def test_forecasts_of_sites_that_are_slower_look_worse(marks):
    as_badly, place = marks[:, 1].T
    assert (as_badly <= 0.2).mean() > 0.45
    assert place.mean() > 0.75


@pytest.mark.slow
def test_a_promise_has_the_share_of_the_trials_and_is_settled_as_it_went(tmp_path):
    ready = prepare(load(wharf_in_small.write(tmp_path / "wharf")))
    site = WatchedSite(ready, seed=3, trial=1)
    asked = {"day": 45, "trials": 20, "folder": tmp_path}
    told = promises_of(looked(ready, site, **asked), wanted=0.8)
    # Of trades, for the log tells their days; others are known as often as there is a sheet.
    told = [(promise, share) for promise, share in told if promise.place.what in ready.tower.trades]
    assert len(told) > 5
    rows = tuple(replace(promise, name=f"p{k}") for k, (promise, _) in enumerate(told))
    look = looked(ready, site, **asked, promises=rows)
    assert look.kept.mean(axis=0).tolist() == [stated for _, stated in told]
    lines = [
        f"{p.name},{p.made},{p.place.what},{p.place.level or ''},{p.place.zone},all,{p.by},," for p in rows
    ]
    (tmp_path / "promises.csv").write_text("\n".join([",".join(COLUMNS), *lines, ""]), encoding="utf-8")
    folder = save(said(look), tmp_path / "look", command="by hand")
    due = max(promise.by for promise in rows)
    assert end_of(due, start=ready.tower.start) < site.diary.finish
    site.record(tmp_path, due)
    start = tmp_path / "start"
    bare(forecast(ready.scenario, trials=3), start)
    files = {name: tmp_path / f"{name}.csv" for name in ("progress", "log", "wind", "promises")}
    marked_by = score([start, folder], **files, scenario=ready.scenario, at=due)
    settled = marked_by.frame("promises").set_index("promise")
    assert settled.loc[[p.name for p in rows], "kept"].tolist() == [kept(site, p) for p in rows]
    assert settled.loc[[p.name for p in rows], "chance"].tolist() == [stated for _, stated in told]
