"""Fronts that were slow while there was time: perhaps on purpose, which the program never decides."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from towerpace.answers.baseline.latest import LatestEnds
from towerpace.answers.delay.played import SitePlayed
from towerpace.answers.seen.site_state import chooser_of
from towerpace.engine.fastest import run
from towerpace.engine.openings import Openings
from towerpace.record.places_steps import steps_of
from towerpace.record.step_index import index_of
from towerpace.record.words import Place
from towerpace.units import DAY_MIN, Floats, Ints

BAND = (0.05, 0.95)  # of the learned law
SLACK_TRIALS = 20  # of which the slack is reckoned, which takes long


@dataclass(frozen=True)
class Paced:
    """A front that may have been paced.

    steps : of it. observed_min : open minutes that it took, without those in which it was held. [min]
    low_min, high_min : 90 % band of what it takes by the learned law. [min]
    slack_days : by which it might have ended later with the finish where it is, along the links. [d]
    running_days : what the events that had begun by its end cost the finish. [d]
    """

    place: Place
    steps: Ints
    observed_min: int
    low_min: float
    high_min: float
    slack_days: float
    running_days: float


def paced_fronts(site: SitePlayed, *, since: int, running: Callable[[int], float]) -> list[Paced]:
    """Fronts that began after the first event, were slower than learned, and had more slack than it ran late.

    since : begin of the first event. [min]  running : days that the events begun by a minute cost. [d]
    """
    fronts = _told_fronts(site, since)
    if not fronts:
        return []
    minutes = _by_law(site, list(fronts.values()))
    taken = site.known.work
    slow = []
    for k, (place, steps) in enumerate(fronts.items()):
        low, high = np.quantile(minutes[:, k], BAND)
        if (observed := int(taken[steps].sum())) > high:
            slow.append((place, steps, observed, float(low), float(high)))
    slack = _slack_days(site, [steps for _, steps, *_ in slow]) if slow else []
    ended = site.known.seen.ended
    fronts_told = [
        Paced(*front, slack_days=days, running_days=running(int(ended[front[1]].max())))
        for front, days in zip(slow, slack, strict=True)
    ]
    return [front for front in fronts_told if 0 < front.running_days < front.slack_days]


def _told_fronts(site: SitePlayed, since: int) -> dict[Place, Ints]:
    """Fronts of the trades that the log times in full and that began after a minute. since : [min]"""
    tower, past = site.state.ready.tower, site.state.past
    index, fronts = index_of(tower.plan), {}
    for place in site.state.record.words.totals:
        if place.what in tower.trades:
            steps = np.array(steps_of(place, tower, index), dtype=np.int64)
            if len(steps) and past.told[steps].all() and past.begun[steps].min() >= since:
                fronts[place] = steps
    return fronts


def _by_law(site: SitePlayed, fronts: list[Ints]) -> Floats:
    """Minutes of each front as learned, trial by trial, (n_trials, n_fronts). [min]"""
    state, how = site.state, site.how
    chooser = chooser_of(state, weather=state, learned=state)
    works = (chooser.numbers(how.seed, trial).work for trial in range(how.trials))
    return np.array([[work[steps].sum() for steps in fronts] for work in works], dtype=np.float64)


def _slack_days(site: SitePlayed, fronts: list[Ints]) -> list[float]:
    """Mean slack of each front along the links, as the record has it. [d]"""
    plan, chooser = site.known.plan, site.chooser(site.known.until)
    latest, days = LatestEnds(plan), []
    for trial in range(min(SLACK_TRIALS, site.how.trials)):
        draw = chooser.draw(site.how.seed, trial)
        diary = run(chooser.plan, draw)
        if diary.finish is None:
            continue
        openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
        late = latest.of(draw, openings, diary) - diary.finished.astype(np.int64)
        days.append([late[steps].min() / DAY_MIN for steps in fronts])
    return np.mean(days, axis=0).tolist() if days else [0.0] * len(fronts)
