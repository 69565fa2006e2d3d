"""Work that happens once, one step after another: the crown, the tail, permits, tests, and the mock-up."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import ClassVar

import numpy as np

from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.plan.chance import MOCK_UP as MOCK_UP_TRIES
from towerpace.plan.chance import Drawn, Known, Law, Probe, Streams, taken
from towerpace.plan.columns import Handed
from towerpace.plan.lists import ALWAYS, START, WORK
from towerpace.plan.site.concrete import days_to_share, equivalent_age_factor
from towerpace.plan.site.drafting import Draft, DrawnMinutes, Uncertain
from towerpace.plan.site.fronts import CURING, StepKey, activity_begun, activity_done
from towerpace.plan.site.leaving import add_awaited, taken_for_good
from towerpace.plan.site.numbers import Numbers, Recipe, SpreadOf
from towerpace.plan.site.risks import add_delays
from towerpace.plan.site.sequence import Precedence
from towerpace.scenario.once import MOCK_UP
from towerpace.scenario.schema import Activity, Concrete, Condition, MockUp, Settings
from towerpace.scenario.spreads import Spread
from towerpace.units import DAY_MIN, HOUR_MIN, Ints

ACTIVITIES = "activities"
Conditions = Callable[[Settings], Sequence[Condition]]  # where they stand in a scenario


def add_activities(draft: Draft, order: Precedence) -> None:
    """All activities; they are served before the fronts, the first in the file first."""
    activities = draft.settings.activity
    for k, (name, activity) in enumerate(activities.items()):
        _Writer(draft, order, name, rank=k - len(activities)).add(activity)


def waits_of(conditions: Conditions, *, name: str, draft: Draft, order: Precedence) -> list[int | StepKey]:
    """Steps that must end before something that happens once may start; lags become steps of the draft."""
    steps: list[int | StepKey] = []
    for k, condition in enumerate(conditions(draft.settings)):
        sources: list[int | StepKey] = list(order.sources_at(condition))
        lag_h = partial(_lag_h, conditions, k)
        lags = bool(sources) and draft.ask(_lags(lag_h))
        if lags:
            minutes = DrawnMinutes((Uncertain(lag_h, f"lag {k} of {name}"),), factor=lambda _: HOUR_MIN)
            wait = f"{name}: wait after {condition.on}" + (f" {k}" if k else "")
            tags = draft.tags(ACTIVITIES, kind=CURING)
            sources = [draft.add(wait, after=sources, tags=tags, minutes=minutes)]
        steps += sources
    return list(dict.fromkeys(steps))


def _lags(lag_h: SpreadOf) -> Callable[[Numbers], bool]:
    return lambda numbers: lag_h(numbers).mean() > 0


def _lag_h(conditions: Conditions, k: int, numbers: Numbers) -> Spread:
    return conditions(numbers.settings)[k].lag_h


def minutes_to_strength(concrete: Concrete) -> int:
    """Elapsed minutes from casting to the share of strength, at the planned temperature. [min]

    Notes
    -----
    Age at 20 degC by the strength curve, over the equivalent age that a day at the temperature adds.
    """
    s = None if concrete.s is None else float(concrete.s)
    days = days_to_share(float(concrete.share), cement=concrete.cement, s=s)
    return round(days / equivalent_age_factor(float(concrete.curing_c)) * DAY_MIN)


class _Writer:
    """Writes one activity into a draft."""

    def __init__(self, draft: Draft, order: Precedence, name: str, *, rank: int) -> None:
        self._draft, self._order, self._name, self._rank = draft, order, name, rank
        self._leave, self._gives = taken_for_good(draft, name), list[Handed]()

    def add(self, activity: Activity) -> None:
        """Its waits, its gate, what risks delay it, and the work itself."""
        after = waits_of(
            lambda s: s.activity[self._name].after, name=self._name, draft=self._draft, order=self._order
        )
        if activity.concrete is not None:
            after.append(self._gate())
        after += add_delays(self._draft, on=self._name, after=list(after), date=self._date)
        self._gives = add_awaited(self._draft, self._name)
        after += [handed.taker for handed in self._gives]
        if self._states("lift_min"):
            self._lifts(activity, after=after)
        elif self._states("work_h"):
            minutes = self._minutes("work_h", f"hours of {self._name}", HOUR_MIN)
            self._step(activity, minutes, mode=WORK, after=after)
        elif self._states("days"):
            minutes = self._minutes("days", f"days of {self._name}", DAY_MIN)
            self._step(activity, minutes, after=after)

    def _states(self, key: str) -> bool:
        return self._draft.ask(lambda n: getattr(n.settings.activity[self._name], key) is not None)

    def _date(self, numbers: Numbers) -> int:
        return numbers.minute_of(numbers.settings.activity[self._name].not_before)

    def _minutes(self, key: str, purpose: str, unit_min: int) -> DrawnMinutes:
        term = Uncertain(lambda n: getattr(n.settings.activity[self._name], key), purpose)
        return DrawnMinutes((term,), factor=lambda _: unit_min)

    def _gate(self) -> int:
        """Time that passes until what was cast is strong enough."""

        def concrete(settings: Settings) -> Concrete:
            stated = settings.activity[self._name].concrete
            assert stated is not None, "asked for only with a gate"
            return stated

        owner, share = f"{self._name}: concrete", concrete(self._draft.settings).share
        cast = waits_of(lambda s: [concrete(s).cast], name=owner, draft=self._draft, order=self._order)
        return self._draft.add(
            f"{owner} to {float(share):.0%}",
            after=cast,
            tags=self._draft.tags(ACTIVITIES, kind=CURING),
            work=lambda n: minutes_to_strength(concrete(n.settings)),
        )

    def _lifts(self, activity: Activity, *, after: list[int | StepKey]) -> None:
        """One lift after the other; others may have the resources in between."""
        assert activity.lifts is not None, "the scenario is checked when it is loaded"
        last, minutes = activity.lifts - 1, self._minutes("lift_min", f"lifts of {self._name}", 1)
        for k in range(activity.lifts):
            step = self._step(activity, minutes, mode=START, after=after, item=k, is_last=k == last)
            self._draft.ends.setdefault(activity_begun(self._name), step)
            after = [step]

    def _step(
        self,
        activity: Activity,
        minutes: DrawnMinutes,
        *,
        after: list[int | StepKey],
        mode: int = ALWAYS,
        item: int = 0,
        is_last: bool = True,
    ) -> int:
        draft = self._draft
        return draft.add(
            self._name if is_last else (self._name, ": lift ", item + 1),
            key=activity_done(self._name) if is_last else None,
            after=after,
            needs=draft.units(activity.needs | self._leave),
            keeps=draft.units(self._leave).pools if is_last else (),
            gives=self._gives if is_last else (),
            window=self._window(activity),
            mode=mode,
            rank=self._rank,
            tags=draft.tags(ACTIVITIES, level=activity.level, kind=self._name),
            minutes=minutes,
            item=item,
            date=self._date,
        )

    def _window(self, activity: Activity) -> int:
        """Calendar and limits, held at the stated height or that of the stated level."""
        if activity.calendar is None:
            return NONE
        height_m = 0.0 if activity.height_m is None else float(activity.height_m)
        if activity.height_m is None and activity.level is not None:
            levels = self._order.levels
            height_m = float(levels.height_m[levels.index(activity.level)])
        return self._draft.closures.window(activity.calendar, limits=activity.limits, height_m=height_m)


@dataclass(frozen=True)
class TriesLaw(Law):
    """Leaves out what comes after the try of the mock-up that passes.

    again : (most - 1, 2) the repair and the try after each try that may fail. chance : that a try passes. [-]
    Each try has its own place in the stream; no try decides after the last, which ends the matter.
    """

    source: ClassVar[str] = MOCK_UP_TRIES
    again: Ints
    chance: float

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:  # noqa: ARG002  nothing is known yet
        """Draw which try passes."""
        passed = streams("mock-up tries").random(len(self.again)) < self.chance
        into.skip[self.again] = np.logical_or.accumulate(passed)[:, None]

    def probes(self, plan: PlanArrays, *, until: int) -> Iterator[Probe]:  # noqa: ARG002  one interface
        """How many tries fail."""
        yield Probe("repeats of the mock-up", self.source, "tries", 1, partial(taken, self.again[:, 1]))


def add_mock_up(draft: Draft, order: Precedence) -> None:
    """The mock-up: tried, mended and tried again until it passes; then the factory may go on.

    All tries, those that may not be needed under flags, and the step at which the mock-up is done.
    """
    mock_up = draft.settings.mock_up
    if mock_up is None:
        return
    tries = DrawnMinutes((Uncertain(lambda n: _mock_up(n).try_days, "mock-up: try", MOCK_UP_TRIES),), _a_day)
    repairs = DrawnMinutes(
        (Uncertain(lambda n: _mock_up(n).fix_days, "mock-up: repair before try", MOCK_UP_TRIES),), _a_day
    )

    def start(numbers: Numbers) -> int:
        return numbers.minute_of(_mock_up(numbers).start)

    after = waits_of(lambda s: s.mock_up.after if s.mock_up else (), name=MOCK_UP, draft=draft, order=order)
    after += add_delays(draft, on=MOCK_UP, after=list(after), date=start)
    tried = _add_try(draft, "mock-up: try 1", tries, number=1, after=after, date=start)
    again: list[int] = []
    for number in range(2, mock_up.most_tries + 1):
        name = f"mock-up: try {number}"
        flag, repair = draft.flag(name), f"mock-up: repair before try {number}"
        mended = _add_try(draft, repair, repairs, number=number, after=[tried], flag=flag)
        tried = _add_try(draft, name, tries, number=number, after=[mended], flag=flag)
        again += [mended, tried]
    tags = draft.tags(ACTIVITIES, kind=MOCK_UP)
    draft.add(MOCK_UP, key=activity_done(MOCK_UP), after=[tried], tags=tags)
    steps = draft.numbers_of(again).reshape(-1, 2)
    draft.laws.append(lambda n: TriesLaw(steps, float(_mock_up(n).pass_chance)))


def _mock_up(numbers: Numbers) -> MockUp:
    assert numbers.settings.mock_up is not None, "asked for only with a mock-up"
    return numbers.settings.mock_up


def _a_day(_: Numbers) -> float:
    return DAY_MIN


def _add_try(
    draft: Draft,
    name: str,
    minutes: DrawnMinutes,
    *,
    number: int,
    after: Sequence[int | StepKey],
    date: Recipe | None = None,
    flag: int = NONE,
) -> int:
    """Days that pass, drawn by the number of the try; after the first, only if the try before it failed."""
    return draft.add(
        name,
        after=after,
        flag=flag,
        planned=flag == NONE,
        tags=draft.tags(ACTIVITIES, kind=MOCK_UP),
        minutes=minutes,
        item=number - 1,
        date=date,
    )
