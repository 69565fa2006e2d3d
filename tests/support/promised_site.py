"""A site that promises what a look ahead gives a wanted chance, and what came of it."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import numpy as np

from support.foreman import WatchedSite
from towerpace.answers.ahead.ahead import Ahead, ahead
from towerpace.answers.prepare import Prepared
from towerpace.answers.seen.site_state import as_planned_times, site_state
from towerpace.record.amounts import Amount
from towerpace.record.promises import Promise
from towerpace.units import DAY_MIN

NEAR = 0.1  # a day's chance may be so far from the one that is wanted


def looked(ready: Prepared, site: WatchedSite, *, day: int, trials: int, folder: Path, **more) -> Ahead:
    """A look six weeks ahead at the end of a day, from sheets, log and wind of a foreman.

    day : since the start, from 1. more : of `ahead`.
    """
    at = ready.tower.start + timedelta(day - 1)
    state = site_state(ready, site.record(folder, at), planned=as_planned_times(ready))
    return ahead(state, weeks=6, trials=trials, seed=more.pop("seed", 1), **more)


def promises_of(look: Ahead, *, wanted: float) -> list[tuple[Promise, float]]:
    """For every place of open work the day whose chance is next to the wanted one, with that chance."""
    done, start = look.outcomes.values["done"], look.ready.tower.start
    made, since = look.state.day, look.state.past.until // DAY_MIN
    days = np.arange(since, since + len(look.days))  # number of the day, 0 the first of the scenario
    promises = []
    for k, place in enumerate(look.places):
        shares = (done[:, k, None] <= (days + 1) * DAY_MIN).mean(axis=0)
        best = int(np.argmin(np.abs(shares - wanted)))
        if abs(shares[best] - wanted) <= NEAR:
            by = start + timedelta(days=int(days[best]))
            amount = Amount(look.state.record.words.totals[place], True, "all")
            row = Promise(k + 2, str(k), made, place, amount, by, "", "")
            promises.append((row, float(shares[best])))
    return promises


def kept(site: WatchedSite, promise: Promise) -> bool:
    """Whether the site did by then what it promised."""
    ends = site.diary.finished[site.steps(promise.place)]
    due = ((promise.by - site.tower.start).days + 1) * DAY_MIN
    return bool((ends >= 0).all() and ends.max() <= due)
