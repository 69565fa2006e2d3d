"""Minutes of a crane's moves between panels, and of hoist trips, as far as a log tells them.

Nobody writes a move down. It lies between two panels that one gang sets one after the other on a front, and
so do the waits for crates and people. How often gangs wait is seen where nothing has to move between two.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from towerpace.answers.learn.from_log import stated_of
from towerpace.answers.learn.items import Items
from towerpace.answers.learn.minutes import Shown, SiteClock
from towerpace.answers.learn.posterior import learn
from towerpace.answers.learn.priors import EVEN, TAIL_SD, Prior
from towerpace.answers.prepare import Prepared
from towerpace.plan.laws import Durations
from towerpace.plan.learned import front_numbers
from towerpace.plan.site.lifting import CRANE_MOVE
from towerpace.plan.site.tower import Tower
from towerpace.plan.work_law import WorkLaw
from towerpace.record.log import BROKEN, REJECTED, Entry, Log
from towerpace.record.places_steps import steps_of
from towerpace.record.step_index import index_of
from towerpace.record.words import CRATES_UP, Place
from towerpace.units import Floats

AT_ONCE_MIN = 1  # a gang that goes on within it has not waited
_90 = 1.6448536269514722


@dataclass(frozen=True)
class Timed:
    """Minutes of one kind of move or trip.

    name, keys : in words, and the dotted keys of the spreads that are stated of it.
    stated : mean of what is stated. site : the same as the site shows, with its 90 % interval. [min]
    level : site over stated. [-]  times : how often it was seen.
    """

    name: str
    keys: tuple[str, ...]
    stated: float
    site: tuple[float, float, float]
    level: float
    times: int


@dataclass(frozen=True)
class Gap:
    """Open minutes from one panel to the next, and the move between them, -1 where nothing has to move."""

    minutes: int
    move: int


def gaps(log: Log, tower: Tower, clock: SiteClock, *, data_date: int) -> Iterator[Gap]:
    """Between panels that one unit sets one after the other on a front, to the minute.

    Gaps in which the weather stopped lifts, or in which nobody knows whether it did, are left out.
    """
    for last, following, span in _in_a_row(log, tower):
        if clock.tells(Shown((following,), *span), data_date=data_date) or span[0] == span[1]:
            minutes, stopped = clock.in_shifts(following, *span)
            if not stopped:
                yield Gap(minutes, _move_between(tower, last, following))


def _in_a_row(log: Log, tower: Tower) -> Iterator[tuple[int, int, tuple[int, int]]]:
    """Lift, the next of the same unit on the front, and from when to when neither was worked at. [min]"""
    index = index_of(tower.plan)
    by_front: dict[tuple[Place, str], list[Entry]] = {}
    for entry, panels in log.first_visits():
        if panels and entry.start.exact:
            by_front.setdefault((entry.place, entry.unit), []).append(entry)
    for (place, _), entries in by_front.items():
        steps = steps_of(place, tower, index)
        for one, other in pairwise(entries):
            if one.finish is None or not one.finish.exact or one.outcome in (BROKEN, REJECTED):
                continue
            span = (one.finish.minute, other.start.minute)
            if other.panels[0] == one.panels[-1] + 1 and span[0] <= span[1]:
                yield steps[one.panels[-1] - 1], steps[other.panels[0] - 1], span


def _move_between(tower: Tower, last: int, following: int) -> int:
    before = tower.plan.before
    moves = (int(step) for step in before[following] if tower.plan.tags(int(step)).kind == CRANE_MOVE)
    return next((step for step in moves if last in before[step]), -1)


def moves_timed(seen: Iterable[Gap], ready: Prepared) -> Timed | None:
    """The crane's move to its next position, from gaps with a move and gaps without one; None without any.

    Notes
    -----
    With w the share of gaps without a move in which the gang waited, and waits long beside moves, a share
    1 - w of the gaps with a move is the move alone, so that its p quantile is the p (1 - w) quantile of the
    gaps. The interval is that of a quantile by its ranks (binomial, as normal), with the error of w.
    """
    crane, every = ready.scenario.settings.crane, list(seen)
    own = _positions(ready)
    moved: Floats = np.sort(np.array([gap.minutes for gap in every if gap.move in own], dtype=np.float64))
    if crane is None or not len(moved):
        return None
    straight = np.array([gap.minutes for gap in every if gap.move == -1], dtype=np.float64)
    half = float(crane.reposition_min.quantile(np.array(0.5)))
    ends = _median_without_waits(moved, straight)
    if not half or not ends[0]:
        return None
    mean = crane.reposition_min.mean()
    site = (mean * ends[0] / half, mean * ends[1] / half, mean * ends[2] / half)
    name = "crane, to the next position"
    return Timed(name, ("crane.reposition_min",), mean, site, ends[0] / half, len(moved))


def _median_without_waits(moved: Floats, straight: Floats) -> tuple[float, float, float]:
    """Median of the moves in gaps that hold waits as well, and its 90 % interval. [min]"""
    waited = float((straight > AT_ONCE_MIN).mean()) if len(straight) else 0.0
    middle = 0.5 * (1 - waited)
    variance = middle * (1 - middle) / len(moved) + 0.25 * waited * (1 - waited) / max(len(straight), 1)
    low, high = np.clip(middle + _90 * variance**0.5 * np.array([-1, 1]), 0.0, 1.0)
    half = float(np.quantile(moved, middle))
    return (
        half,
        float(np.quantile(moved, low, method="lower")),
        float(np.quantile(moved, high, method="higher")),
    )


def _positions(ready: Prepared) -> set[int]:
    """Moves of floor cranes to their next position, not those of other ways of lifting."""
    tower, crane = ready.tower, ready.scenario.settings.crane
    laws = [work for law in tower.laws if isinstance(law, Durations) for work in law.work]
    own = {int(step) for law in laws if _is_shift(law) for step in law.steps}
    if own or crane is None or crane.reposition_min.kind != "constant" or ready.scenario.settings.method:
        return own
    return {step for step in range(tower.plan.n) if tower.plan.tags(step).kind == CRANE_MOVE}


def _is_shift(law: WorkLaw) -> bool:
    return len(law.terms) == 1 and law.terms[0].purpose == "crane reposition"


def trips_timed(log: Log, tower: Tower, clock: SiteClock, *, data_date: int) -> Timed | None:
    """Loading and unloading of hoists, from rows of single crates; None without any.

    A row lasts from when the crate is loaded until the car is free again, other people's trips between
    included, as a trip does in a trial. Travel and the share of the hoist are taken as stated.
    """
    laws = [w for law in tower.laws if isinstance(law, Durations) for w in law.work if w.pace is None]
    place = {int(step): (law, k) for law in laws for k, step in enumerate(law.steps)}
    index, rows = index_of(tower.plan), []
    for entry in log.entries:
        exact = entry.finish is not None and entry.finish.exact and entry.start.exact
        if entry.place.what == CRATES_UP and len(entry.panels) == 1 and exact and entry.finish is not None:
            step = steps_of(entry.place, tower, index)[entry.panels[0] - 1]
            shown = Shown((step,), entry.start.minute, entry.finish.minute)
            if step in place and clock.tells(shown, data_date=data_date):
                rows.append((step, clock.between(step, shown.start, entry.finish.minute)))
    return _trips(rows, place, tower) if rows else None


def _trips(rows: list[tuple[int, int]], place: dict[int, tuple[WorkLaw, int]], tower: Tower) -> Timed | None:
    from scipy.special import ndtri

    stated = tuple(stated_of(*place[step]) for step, _ in rows)
    factor = np.array([float(place[step][0].factor[place[step][1]]) for step, _ in rows])
    minutes = np.array([float(spent) for _, spent in rows])
    fronts = front_numbers(tower.plan)[[step for step, _ in rows]]
    items = Items(stated, np.arange(len(rows)), factor, minutes, minutes, fronts)
    # Nothing is stated of how fast the hoists of a job turn out to be: the tail of a trade is taken.
    levels = np.exp(TAIL_SD * ndtri(np.clip(np.linspace(0, 1, EVEN), 0.5 / EVEN, 1 - 0.5 / EVEN)))
    learned = learn(items, prior=Prior(levels))
    handling = float(np.mean([sum(t.spread.mean() for t in place[step][0].terms) for step, _ in rows]))
    trip = float(np.mean([law.mean_min for law in stated]))
    site = [q * trip - (trip - handling) for q in learned.quantile(np.array([0.5, 0.05, 0.95])).tolist()]
    if site[0] <= 0:
        return None
    keys = ("hoist.load_min", "hoist.unload_min")
    middle, low, high = site
    level = middle / handling
    return Timed(
        "hoist, loading and unloading", keys, handling, (middle, max(low, 0.0), high), level, len(rows)
    )
