"""The dates that a site is held to, beside what they are worth now: of a baseline, or of the start."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import chain

import numpy as np

from towerpace.answers.baseline.items import FINISH
from towerpace.answers.estimates import LATER
from towerpace.answers.forecast import Forecast
from towerpace.answers.measures import once_steps
from towerpace.answers.progress import ranked
from towerpace.answers.said.answer import Answer
from towerpace.plan.site.tower import CLOSING_IN
from towerpace.units import Ints

AT = 0.8  # confidence of the dates where none are given; also of what is set beside a planner's own
BASELINE_TABLES = ("milestones", "activities", "fronts")
Place = tuple[str, int | None]  # trade, activity or milestone, and its level; None for what has none


@dataclass(frozen=True)
class HeldDates:
    """Dates by which things are to be done, and where they come from.

    by_place : the date of each; over all zones of a level. named : where they come from, as people say it.
    at : the confidence of each by itself, with which it is compared. [-]
    """

    by_place: Mapping[Place, date]
    named: str
    at: float = AT

    @property
    def finish(self) -> date | None:
        """The date of the finish; None where there is none."""
        return self.by_place.get((FINISH, None))


def held_at_start(start: Forecast) -> HeldDates:
    """What four trials in five kept at the start, each thing by itself."""
    stamps = {place: ranked(values, AT) for place, values in _done(start).items()}
    dates = {place: start.days.date_of(int(end)) for place, end in stamps.items() if end != LATER}
    return HeldDates(dates, f"P{100 * AT:g} of the forecast at the start")


def held_by(answer: Answer, *, folder: str) -> HeldDates:
    """The dates of a saved answer of `baseline`. folder : where it lies, as the user named it."""
    by_place: dict[Place, date] = {}
    for row in chain.from_iterable(_dated(answer, name) for name in BASELINE_TABLES):
        place, day = row
        by_place[place] = max(day, by_place.get(place, day))
    confidence = answer.fact("confidence")
    if not isinstance(confidence, float):
        return HeldDates(by_place, f"the own dates of {folder}")
    return HeldDates(by_place, f"the baseline at P{100 * confidence:g} of {folder}", confidence)


def _dated(answer: Answer, name: str) -> Iterator[tuple[Place, date]]:
    table = answer.table(name)
    levels = table.column("level") if name != "activities" else [None] * len(table.rows)
    for what, level, day in zip(table.column("what"), levels, table.column("baseline"), strict=True):
        if isinstance(day, date):
            yield (str(what), level if isinstance(level, int) else None), day


@dataclass(frozen=True)
class Standing:
    """How a date stands now.

    held : the date. now : the forecast at the confidence of the date; None beyond the horizon. kept : share
    of the trials that keep it. [-]
    """

    held: date
    now: date | None
    kept: float

    @property
    def moved_days(self) -> int | None:
        """Days by which it is later now than it was to be. [d]"""
        return None if self.now is None else (self.now - self.held).days


def standings(held: HeldDates, now: Forecast) -> dict[Place, Standing]:
    """How each date stands that the tower still has something for, in its order."""
    told = {}
    for place, ends in _done(now).items():
        if (day := held.by_place.get(place)) is not None:
            end = int(ranked(ends, held.at))
            then = None if end == LATER else now.days.date_of(end)
            told[place] = Standing(day, then, float(np.mean(ends <= now.days.last_minute(day))))
    return told


def _done(forecast: Forecast) -> dict[Place, Ints]:
    """When everything is done that may have a date, (n_trials,) each: the finish first. [min]"""
    values, tower = forecast.outcomes.values, forecast.tower
    done: dict[Place, Ints] = {(FINISH, None): values["finish"]}
    done |= {(name, None): values["once_done"][:, k] for k, name in enumerate(once_steps(tower))}
    closed = values["closing_in"].T
    done |= {(CLOSING_IN, level): ends for level, ends in zip(tower.levels, closed, strict=False)}
    for k, trade in enumerate(tower.trades):
        ends = values["done"][:, k].T
        done |= {(trade, level): own for level, own in zip(tower.levels, ends, strict=True)}
    return done
