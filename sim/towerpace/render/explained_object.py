"""Why the finish is late, as one JSON object."""

from __future__ import annotations

from collections import Counter
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from towerpace import __version__
from towerpace.answers.days import DAY_MIN
from towerpace.answers.estimates import percentile
from towerpace.answers.ledger.book import STRIP, in_calendar_time
from towerpace.answers.ledger.waits import LINE
from towerpace.answers.why.explain import Explanation, Unfinished
from towerpace.answers.why.stretches import said_cause, stretch_name
from towerpace.answers.why.unfinished import first_few, in_words, locked, roots

if TYPE_CHECKING:
    from towerpace.answers.why.telling import Story

SLOTS, STRIPS, GATE = "floor slots", "strips under a lift", "places at the gate"
_SHARED = {"floor slots ": SLOTS, "strip ": STRIPS, "place at the gate": GATE}
WAITS_SHOWN = 4
EVENTS = "site events"  # breakdowns, remakes on their way, and whatever else belongs to no trade


def as_data(why: Explanation) -> dict[str, Any]:
    """Every number of an explanation.

    Days of the finish and shares are over the trials that finished; hours of waiting over all trials. Hours
    of clock "shift" lie inside the shift, those of clock "calendar" run day and night; both are sums over
    all fronts. Trials are numbered from 0.
    """
    return {
        "scenario": why.ready.tower.name,
        "hash": why.ready.scenario.hash,
        "seed": why.seed,
        "trials": why.trials,
        "trials_asked": why.asked,
        "version": __version__,
        "start": why.ready.tower.start.isoformat(),
        "finished": why.finished,
        "beyond_horizon": why.trials - why.finished,
        "mean_finish_days": round(float(why.held_days.sum()), 4) if why.finished else None,
        "typical": {"p50": _typical(why, 0.5), "p80": _typical(why, 0.8)},
        "begins": _begins(why),
        "held": _held(why),
        "trades": _trades(why),
        "levels": _levels(why),
        "pools": _pools(why),
        "waiting": _waiting(why),
        "unfinished": [_unfinished(one, why) for one in why.unfinished],
    }


def _typical(why: Explanation, p: float) -> dict[str, Any] | None:
    """The trial that finishes at a percentile, to be looked at; None beyond the horizon."""
    value = percentile(why.finish, p).value
    if value is None:
        return None
    trial = int(np.flatnonzero(why.finish == value)[0])
    return {"trial": trial, "finish": why.ready.days.date_of(value).isoformat()}


def _begins(why: Explanation) -> list[dict[str, Any]]:
    """With what the chains begin: what stands before it did not matter for the finish."""
    plan, first = why.ready.tower.plan, why.outcomes.values["first"]
    names = Counter(stretch_name(plan, step) for step in first[first >= 0].tolist())
    return [{"name": name, "share": round(n / why.finished, 4)} for name, n in names.most_common()]


def _held(why: Explanation) -> list[dict[str, Any]]:
    days = why.held_days
    touched = (why.outcomes.values["held"] > 0).sum(axis=0) / max(1, why.finished)
    found = [
        {
            "trade": why.rows[i] or EVENTS,
            "cause": why.causes[j],
            "days": round(float(days[i, j]), 4),
            "share": round(float(touched[i, j]), 4),
        }
        for i, j in np.argwhere(days > 0).tolist()
    ]
    return sorted(found, key=lambda one: -one["days"])


def _trades(why: Explanation) -> list[dict[str, Any]]:
    days, share = why.held_days.sum(axis=1), why.criticality("held")
    found = [
        {"trade": name or EVENTS, "days": round(float(d), 4), "share": round(float(s), 4)}
        for name, d, s in zip(why.rows, days, share, strict=True)
        if s > 0
    ]
    return sorted(found, key=lambda one: -one["days"])


def _levels(why: Explanation) -> list[dict[str, Any]]:
    rows = zip(why.ready.tower.levels, why.level_days, why.criticality("by_level"), strict=True)
    return [{"level": v, "days": round(float(d), 4), "share": round(float(s), 4)} for v, d, s in rows]


def _pools(why: Explanation) -> list[dict[str, Any]]:
    """Resources through which the chain ran; slots, strips and places at the gate together."""
    groups: dict[str, list[int]] = {}
    for k, name in enumerate(why.ready.tower.plan.pools.names):
        shared = next((said for start, said in _SHARED.items() if name.startswith(start)), name)
        groups.setdefault(shared, []).append(k)
    minutes = why.outcomes.values["by_pool"]
    made = []
    for name, columns in groups.items():
        own = minutes[:, columns].sum(axis=1)
        if own.any():
            days = float(own.sum()) / (DAY_MIN * why.finished)
            share = float(np.count_nonzero(own)) / why.finished
            made.append({"pool": name, "days": round(days, 4), "share": round(share, 4)})
    return sorted(made, key=lambda one: -float(str(one["days"])))


def _waiting(why: Explanation) -> list[dict[str, Any]]:
    """Who waits for what: pools, places in a line, and what comes before; never weather or the night."""
    found = []
    for i, j in np.argwhere(why.ledger_h > 0).tolist():
        cause = why.for_[j]
        if not cause.startswith(("no ", "after ")) and cause not in (LINE, STRIP):
            continue
        clock = "calendar" if in_calendar_time(cause) else "shift"
        what = cause.removeprefix("no ").removeprefix("after ")
        hours = round(float(why.ledger_h[i, j]), 3)
        found.append({"who": why.who[i], "for": what, "hours": hours, "clock": clock})
    return sorted(found, key=lambda one: -float(str(one["hours"])))


def _unfinished(one: Unfinished, why: Explanation) -> dict[str, Any]:
    plan = why.ready.tower.plan
    return {
        "trial": one.trial,
        "steps_left": one.left,
        "locked": one.locked,
        "waits_for": [in_words(wait, plan) for wait in one.waits],
    }


def trial_data(story: Story) -> dict[str, Any]:
    """Chain and site diary of one trial. Hours of a link by cause; moments are ISO."""
    played, told, start = story.played, story.told, story.start
    plan = played.ready.tower.plan
    midnight = datetime.combine(start, time())

    def moment(minute: int) -> str:
        return (midnight + timedelta(minutes=minute)).isoformat(timespec="minutes")

    waits = roots(played.diary, played.draw) if played.diary.finish is None else []
    return {
        "trial": played.trial,
        "trial_finish": None if played.diary.finish is None else moment(played.diary.finish),
        "trial_locked": locked(waits),
        "trial_waits_for": [in_words(wait, plan) for wait in first_few(waits, WAITS_SHOWN)],
        "chain": [
            {
                "step": plan.names[link.step],
                "since": moment(link.since),
                "started": moment(link.started),
                "finished": moment(link.finished),
                "pool": None if link.pool < 0 else plan.pools.names[link.pool],
                "causes": {
                    cause: round(int(m) / 60, 4) for cause, m in zip(told.causes, spent, strict=True) if m
                },
            }
            for link, spent in zip(told.links, told.minutes.T, strict=True)
        ],
        "stretches": [
            {
                "name": one.name,
                "trade": one.tags.trade,
                "level": one.tags.level,
                "since": moment(one.since),
                "finished": moment(one.finished),
                "pools": list(one.pools),
                "days": {said_cause(cause): round(m / DAY_MIN, 4) for cause, m in one.by_cause},
            }
            for one in told.stretches
        ],
        "diary": [{"date": day.on(start).isoformat(), "said": list(day.said)} for day in story.diary],
    }
