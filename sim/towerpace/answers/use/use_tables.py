"""The tables of how busy the resources are: what each holds, and its rows."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import numpy as np

from towerpace.answers.progress import ranked
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table
from towerpace.answers.use.places import PLACES
from towerpace.answers.use.use import UseDetail
from towerpace.units import WEEK_MIN, Floats

LEAST_H = 0.5  # a week in which less is waited for a resource has no scarce one
_SHOWN = 12
_BAND = (("p10", 0.1), ("p50", 0.5), ("p90", 0.9))
_WEEK = Column("week_end", Kind.DATE, "week to", about="last day of the week")
_RESOURCE = Column("resource", Kind.NAME, about="as the scenario names it")

RESOURCES = Table(
    "resources",
    "How busy every resource is, average of all trials",
    (
        _RESOURCE,
        Column("units", Kind.COUNT, about="of the scenario"),
        Column("busy_h", Kind.HOURS, "unit-hours held", about="held for work, in the resource's own hours"),
        Column("away_h", Kind.HOURS, "away", about="broken down or elsewhere, in its hours"),
        Column(
            "idle_share",
            Kind.SHARE,
            "idle",
            about="of its hours on site between first and last use, those in which a unit is held by nobody",
        ),
        Column("busiest", Kind.DATE, "busiest week to", about="last day of its busiest week"),
        Column(
            "busiest_share",
            Kind.SHARE,
            "held then",
            about="share of its hours held in that week",
            on=On.ALL & ~On.TERMINAL,
        ),
        Column("waited_h", Kind.HOURS, "waited for", about="hours that all work waits for it first"),
    ),
    about="use of every resource over the whole job",
    note="A unit is held while it works and while the front that it is bound to waits. Its hours are the "
    "shifts of all work that needs it; weather does not shorten them.",
)
SCARCE = Table(
    "scarce",
    "The resource that is waited for most, week by week",
    (
        _WEEK,
        Column("resource", Kind.NAME, about="waited for most in the mean of all trials", blank="none"),
        Column("waited_h", Kind.HOURS, "hours waited", about="for it, by all work together, mean of a trial"),
        Column(
            "share", Kind.SHARE, "in trials", about="share of trials in which no other is waited for more"
        ),
        Column("utilisation", Kind.SHARE, "held", about="share of its unit-hours held in that week, mean"),
    ),
    about="the scarce resource of each week; none where nobody waits half an hour",
    note="A wait that spans several weeks is spread over them evenly.",
    most=_SHOWN,
    folded=True,
)
BY_WEEK = Table(
    "by_week",
    "Every resource week by week",
    (
        _RESOURCE,
        _WEEK,
        Column("utilisation", Kind.SHARE, "held", about="share of its unit-hours held for work, mean"),
        Column("utilisation_p10", Kind.SHARE, "P10", about="nine trials in ten hold it more"),
        Column("utilisation_p90", Kind.SHARE, "P90", about="one trial in ten holds it more"),
        Column("busy_h", Kind.HOURS, about="unit-hours held for work, mean of a trial"),
        Column("away_h", Kind.HOURS, about="unit-hours broken down or elsewhere, mean of a trial"),
        Column("waited_h", Kind.HOURS, about="hours that work waits for it first, mean of a trial"),
    ),
    about="use of every resource by week",
    groups=True,
    folded=True,
    on=On.FILE | On.PAGE,
)
_WORDS = {
    "made": "panels made and not on site",
    "yard": "panels on site and not on their level",
    "floors": "panels on their level and not set",
    "holes": "panels lost and not set again",
}
STOCK = Table(
    "stock",
    "Where panels stand at the end of each week",
    (
        _WEEK,
        *(
            Column(
                f"{place}_{p}",
                Kind.COUNT,
                f"{'holes open' if place == 'holes' else place} {p.upper()}" if p != "p10" else "",
                about=f"{_WORDS[place]}, {p.upper()}",
                on=On.PROGRAMS if p == "p10" else On.ALL,
            )
            for place in PLACES
            for p, _ in _BAND
        ),
    ),
    about="panels made, in the yard and on the floors, and open holes, by week",
    note="Made: not on site yet. Yard: not on their level. Floors: not set. Holes: lost and not set again.",
    most=_SHOWN,
    folded=True,
)
USE_TABLES = (RESOURCES, SCARCE, STOCK, BY_WEEK)


def use_tables(use: UseDetail) -> tuple[Table, ...]:
    """All tables, in the order of `USE_TABLES`."""
    return (
        RESOURCES.filled(_resources(use)),
        SCARCE.filled(_scarce(use)),
        STOCK.filled(_stock(use)),
        BY_WEEK.filled(_by_week(use)),
    )


def week_end(use: UseDetail, week: int) -> date:
    """Last day of a week, or of the clock."""
    return use.ready.days.date_of(min((week + 1) * WEEK_MIN, use.ready.tower.plan.horizon))


def mean_of(shares: Floats) -> Floats:
    """Mean over the trials in which there is a value, over the first axis; nan where there is none."""
    known = np.isfinite(shares)
    count = known.sum(axis=0)
    total = np.where(known, shares, 0.0).sum(axis=0)
    mean: Floats = np.divide(total, count, out=np.full(total.shape, np.nan), where=count > 0)
    return mean


def _resources(use: UseDetail) -> Iterator[Row]:
    stated = use.ready.scenario.settings.resource
    held, idle = mean_of(use.utilisation), mean_of(use.idle_share)
    busy, away, waited = (use.mean_h(name).sum(axis=1) for name in ("busy", "away", "waited"))
    for k, name in enumerate(use.resources):
        weeks = held[k, : use.weeks]
        used = bool(busy[k] > 0)
        top = int(np.nanargmax(weeks)) if used else 0
        busiest = (week_end(use, top), float(weeks[top])) if used else (None, None)
        share = float(idle[k]) if used else None
        yield name, stated[name].count, float(busy[k]), float(away[k]), share, *busiest, float(waited[k])


def _scarce(use: UseDetail) -> Iterator[Row]:
    waited, most, held = use.mean_h("waited"), use.most_waited, mean_of(use.utilisation)
    for week in range(use.weeks):
        k = int(waited[:, week].argmax())
        if waited[k, week] < LEAST_H:
            yield week_end(use, week), None, None, None, None
            continue
        part = None if np.isnan(held[k, week]) else float(held[k, week])
        yield week_end(use, week), use.resources[k], float(waited[k, week]), float(most[k, week]), part


def _stock(use: UseDetail) -> Iterator[Row]:
    places = use.outcomes.values["places"]
    if not places.any():
        return
    bands = [ranked(places, p) for _, p in _BAND]
    for week in range(use.weeks):
        yield week_end(use, week), *(int(band[k, week]) for k in range(len(PLACES)) for band in bands)


def _by_week(use: UseDetail) -> Iterator[Row]:
    held = use.utilisation
    middle, hours = mean_of(held), [use.mean_h(name) for name in ("busy", "away", "waited")]
    low, high = (ranked(np.nan_to_num(held), p) for p in (0.1, 0.9))
    for k, name in enumerate(use.resources):
        for week in range(use.weeks):
            shares = [float(x[k, week]) for x in (middle, low, high)]
            known = shares if np.isfinite(shares[0]) else [None] * 3
            yield name, week_end(use, week), *known, *(float(x[k, week]) for x in hours)
