"""What a trial costs: hire and gangs while on site, bringing them, site overhead, damages."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from towerpace.answers.days import Days
from towerpace.answers.estimates import LATER
from towerpace.answers.step_lists import StepLists
from towerpace.engine.diary import NEVER, Diary
from towerpace.plan.arrays import NONE
from towerpace.plan.model import Plan, Ragged
from towerpace.plan.site.presence import alike, own_dates
from towerpace.plan.site.tower import Tower
from towerpace.plan.site.working_hours import hours_added
from towerpace.scenario.schema import Settings
from towerpace.units import DAY_MIN, HOUR_MIN, Ints

PARTS = 1000  # costs are kept in whole thousandths of the unit, so that sums do not depend on their order


@dataclass(frozen=True)
class OwnStay:
    """A unit that is paid on days of its own.

    arrives : first minute it is there; 0 from the start. [min]  gone : step with which it leaves, or -1.
    """

    arrives: int
    gone: int


@dataclass(frozen=True)
class Hire:
    """Units of one resource, paid from the first day one of them is used to the last. [unit of money]

    takers, givers : steps that take and give back its units, without those that the finish does not wait for.
    units : that keep to these days. own : further units, paid at most from their arrival until they are gone.
    """

    name: str
    takers: Ints
    givers: Ints
    units: int
    per_day: float
    mobilise: float
    working_days: bool
    own: tuple[OwnStay, ...] = ()


@dataclass(frozen=True)
class Premium:
    """What hours outside the usual week of a calendar cost on top. [unit of money]

    added : (n, 2) spans of these hours. [min]  users : steps that keep the calendar; a span is paid if it
    lies, if only in part, between their first start and their last end.
    """

    calendar: str
    added: Ints
    users: Ints
    per_hour: float


@dataclass(frozen=True)
class Damages:
    """What a late milestone costs. step : its number, -1 for the finish. due : last minute in time. [min]"""

    name: str
    step: int
    due: int
    per_day: float
    most: float


@dataclass(frozen=True)
class CostBook:
    """The costs of a scenario.

    items : names, along the costs of a trial.
    """

    unit: str
    days: Days
    hires: tuple[Hire, ...]
    premiums: tuple[Premium, ...]
    overhead_per_day: float
    damages: tuple[Damages, ...]

    @property
    def items(self) -> tuple[str, ...]:
        """What is paid for."""
        return (
            *(h.name for h in self.hires),
            *(f"premium {name}" for name in self._premium_calendars),
            "site overhead",
            *(f"damages {d.name}" for d in self.damages),
        )

    @property
    def _premium_calendars(self) -> tuple[str, ...]:
        """Calendars of which some hours cost more, each once."""
        return tuple(dict.fromkeys(premium.calendar for premium in self.premiums))

    def of(self, diary: Diary) -> Ints:
        """Costs of one trial by item, (n_items,), in thousandths of the unit; LATER if it did not finish."""
        finish = diary.finish
        if finish is None:
            return np.full(len(self.items), LATER, dtype=np.int64)
        begun = self._takers.first_start(diary).tolist()
        stays = list(zip(begun, self._givers.last_end(diary).tolist(), strict=True))
        n_hires = len(self.hires)
        costs = [self._hire(*hired, diary) for hired in zip(self.hires, stays[:n_hires], strict=True)]
        paid = dict.fromkeys(self._premium_calendars, 0.0)
        for premium, worked in zip(self.premiums, stays[n_hires:], strict=True):
            paid[premium.calendar] += _premium(premium, worked)
        costs += paid.values()
        costs.append(self.overhead_per_day * (self.days.day(finish) + 1))
        ends = [finish if d.step < 0 else int(diary.finished[d.step]) for d in self.damages]
        costs += [self._damages(d, end) for d, end in zip(self.damages, ends, strict=True)]
        parts: Ints = np.rint(np.array(costs) * PARTS).astype(np.int64)
        return parts

    @cached_property
    def _takers(self) -> StepLists:
        """What begins the stays that are paid: those of hires, then those of premiums."""
        return StepLists([*(h.takers for h in self.hires), *(p.users for p in self.premiums)])

    @cached_property
    def _givers(self) -> StepLists:
        """What ends these stays."""
        return StepLists([*(h.givers for h in self.hires), *(p.users for p in self.premiums)])

    def _hire(self, hire: Hire, stay_min: tuple[int, int], diary: Diary) -> float:
        first, last = stay_min
        if first == NEVER:
            return 0.0
        count = self.days.working_day if hire.working_days else self.days.day
        cost = hire.units * (hire.mobilise + hire.per_day * (count(last) - count(first) + 1))
        for stay in hire.own:
            # The midnight on which a unit arrives belongs to the day before, which is not paid.
            until, before = last, max(count(first) - 1, count(stay.arrives) if stay.arrives else -1)
            if stay.gone != NONE and diary.started[stay.gone] != NEVER:
                until = min(last, int(diary.started[stay.gone]))
            paid = count(until) - before
            cost += hire.mobilise + hire.per_day * paid if paid > 0 else 0.0
        return cost

    def _damages(self, damages: Damages, at: int) -> float:
        late = max(0, self.days.day(at) - (damages.due // DAY_MIN - 1))
        return min(damages.most, damages.per_day * late)


def _premium(premium: Premium, stay_min: tuple[int, int]) -> float:
    first, last = stay_min
    if first == NEVER:
        return 0.0
    paid = premium.added[(premium.added[:, 1] > first) & (premium.added[:, 0] < last)]
    return premium.per_hour * int(np.diff(paid).sum()) / HOUR_MIN


def _users(lists: Ragged, pool: int, *, plan: Plan) -> Ints:
    """Steps whose list names a pool, apart from those that the finish does not wait for."""
    steps = lists.owners[lists.values == pool]
    needed: Ints = steps[~plan.optional[steps]]
    return needed


def _own_stays(name: str, *, settings: Settings, tower: Tower) -> tuple[OwnStay, ...]:
    resource = settings.resource[name]
    stays = []
    for unit in range(alike(resource) + 1, resource.count + 1):
        own = own_dates(resource, unit)
        arrives = None if own is None else own.arrives or resource.arrives
        arrives_min = 0 if arrives is None else (arrives - settings.tower.start).days * DAY_MIN
        stays.append(OwnStay(arrives_min, tower.gone.get((name, unit), NONE)))
    return tuple(stays)


def _premiums(settings: Settings, *, tower: Tower) -> Iterator[Premium]:
    start, days = settings.tower.start, settings.tower.horizon_days
    for name, calendar in settings.calendar.items():
        windows = np.array(tower.windows_of.get(name, ()), dtype=np.int64)
        users = np.flatnonzero(np.isin(tower.plan.window, windows) & ~tower.plan.optional)
        for number, dated in enumerate(calendar.dated):
            if dated.premium_per_hour is not None:
                added = hours_added(calendar, number, start=start, days=days)
                yield Premium(name, added, users, float(dated.premium_per_hour))


def cost_book(settings: Settings, *, tower: Tower, days: Days) -> CostBook | None:
    """The costs of a scenario; None if it states none."""
    if settings.cost is None:
        return None
    plan = tower.plan
    number = {name: k for k, name in enumerate(plan.pools.names)}
    hires = tuple(
        Hire(
            name,
            _users(plan.needs, number[name], plan=plan),
            _users(plan.give_pool, number[name], plan=plan),
            alike(r),
            float(r.cost_per_day or 0.0),
            float(r.cost_mobilise or 0.0),
            r.paid == "working days",
            _own_stays(name, settings=settings, tower=tower),
        )
        for name, r in settings.resource.items()
        if r.cost_per_day is not None or r.cost_mobilise is not None
    )
    premiums = tuple(_premiums(settings, tower=tower))
    damages = tuple(
        Damages(
            name,
            -1 if c.level is None else int(tower.closing_in[tower.levels.index(c.level)]),
            days.last_minute(c.date),
            float(c.damages_per_day),
            np.inf if c.damages_most is None else float(c.damages_most),
        )
        for name, c in settings.contract.items()
        if c.damages_per_day is not None
    )
    overhead_per_day = float(settings.cost.site_overhead_per_day)
    return CostBook(settings.cost.unit, days, hires, premiums, overhead_per_day, damages)
