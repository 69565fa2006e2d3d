"""Work that happens once, or once on every level of a band: the crown, the tail, permits, tests."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.columns import Handed
from towerpace.plan.lists import ALWAYS, START, WORK
from towerpace.plan.site.bands import Band, bands_of, named
from towerpace.plan.site.concrete import days_to_share, equivalent_age_factor
from towerpace.plan.site.drafting import Draft, DrawnMinutes, Uncertain
from towerpace.plan.site.fronts import CURING, StepKey, activity_at, activity_begun, activity_done
from towerpace.plan.site.leaving import add_awaited, taken_for_good
from towerpace.plan.site.numbers import Numbers
from towerpace.plan.site.risks import add_delays
from towerpace.plan.site.sequence import Precedence
from towerpace.scenario.schema import Activity, Concrete, Condition, Settings
from towerpace.units import DAY_MIN, HOUR_MIN

ACTIVITIES = "activities"
Conditions = Callable[[Settings], Sequence[Condition]]  # where they stand in a scenario
# How long an activity takes: the key that says it, what its spread is of, and a unit of it in minutes.
_LENGTHS = (("lift_min", "lifts", 1), ("work_h", "hours", HOUR_MIN), ("days", "days", DAY_MIN))


def add_activities(draft: Draft, order: Precedence) -> None:
    """All activities; they are served before the fronts, the first in the file first."""
    activities = draft.settings.activity
    for k, (name, activity) in enumerate(activities.items()):
        _Writer(draft, order, name, rank=k - len(activities)).add(activity)


def waits_of(
    conditions: Conditions,
    *,
    name: str,
    draft: Draft,
    order: Precedence,
    at: Go | None = None,
) -> list[int | StepKey]:
    """Steps that must end before something that happens once may start; lags become steps of the draft.

    at : a go of an activity by levels, for the conditions that hold beside its levels; without it the others.
    """
    steps: list[int | StepKey] = []
    for k, condition in enumerate(conditions(draft.settings)):
        if (condition.levels_up is None) == (at is not None):
            continue
        sources: list[int | StepKey] = list(order.sources_at(condition, at.band if at else ()))
        minutes = order.lag(conditions, k, name=name) if sources else None
        if minutes is not None:
            wait = f"{at.name if at else name}: wait after {condition.on}" + (f" {k}" if k else "")
            tags, item = draft.tags(ACTIVITIES, kind=CURING), at.number if at else 0
            sources = [draft.add(wait, after=sources, tags=tags, minutes=minutes, item=item)]
        steps += sources
    return list(dict.fromkeys(steps))


def minutes_to_strength(concrete: Concrete) -> int:
    """Elapsed minutes from casting to the share of strength, at the planned temperature. [min]

    Notes
    -----
    Age at 20 degC by the strength curve, over the equivalent age that a day at the temperature adds.
    """
    s = None if concrete.s is None else float(concrete.s)
    days = days_to_share(float(concrete.share), cement=concrete.cement, s=s)
    return round(days / equivalent_age_factor(float(concrete.curing_c)) * DAY_MIN)


@dataclass(frozen=True)
class Go:
    """One go of an activity: all of it, or its work on some levels.

    level : where it is shown. number : 0 the first. units : of its column; 1 without.
    is_last : whether it ends the activity.
    """

    name: str
    band: Band = ()
    level: int | None = None
    number: int = 0
    units: int = 1
    is_last: bool = True


class _Writer:
    """Writes one activity into a draft."""

    def __init__(self, draft: Draft, order: Precedence, name: str, *, rank: int) -> None:
        self._draft, self._order, self._name, self._rank = draft, order, name, rank
        self._leave, self._gives = taken_for_good(draft, name), list[Handed]()

    def add(self, activity: Activity) -> None:
        """Its waits, its gate, what risks delay it, and the work itself, at once or level by level."""
        goes = self._goes(activity)
        after = self._waits()
        if activity.concrete is not None:
            after.append(self._gate())
        beside = [self._waits(go) if go.band else [] for go in goes]
        after += add_delays(self._draft, on=self._name, after=[*after, *beside[0]], date=self._date)
        self._gives = add_awaited(self._draft, self._name)
        after += [handed.taker for handed in self._gives]
        lengths = self._lengths(goes)
        if activity.levels is None:
            self._work(activity, goes[0], lengths, after=after)
            return
        ends: list[int] = []
        for go, own in zip(goes, beside, strict=True):
            before = ends[-1:] if activity.in_turn and ends else after
            ends.append(self._work(activity, go, lengths, after=[*before, *own]))
            for floor in go.band:
                self._draft.ends[activity_at(self._name, self._order.levels.levels[floor])] = ends[-1]
        after, tags = (
            [*(ends[-1:] if activity.in_turn else ends)],
            self._draft.tags(ACTIVITIES, kind=self._name),
        )
        self._draft.add(self._name, key=activity_done(self._name), after=after, gives=self._gives, tags=tags)

    def _waits(self, go: Go | None = None) -> list[int | StepKey]:
        return waits_of(
            lambda s: s.activity[self._name].after,
            name=self._name,
            draft=self._draft,
            order=self._order,
            at=go,
        )

    def _goes(self, activity: Activity) -> list[Go]:
        """All goes in the order of the work."""
        levels, bands = self._order.levels, bands_of(activity, self._order.levels)
        if not bands:
            return [Go(self._name, level=activity.level)]
        column = None if activity.column is None else levels.counts[activity.column]
        return [
            Go(
                named(self._name, band, levels),
                band=band,
                level=levels.levels[band[0]],
                number=k,
                units=1 if column is None else int(column[list(band)].sum()),
                is_last=k == len(bands) - 1,
            )
            for k, band in enumerate(bands)
        ]

    def _lengths(self, goes: list[Go]) -> DrawnMinutes:
        """How the minutes are drawn; those of all levels as one, but lift by lift."""
        units = np.array([go.units for go in goes], dtype=np.float64)
        key, purpose, unit_min = next(length for length in _LENGTHS if self._states(length[0]))
        term = Uncertain(
            lambda n: getattr(n.settings.activity[self._name], key), f"{purpose} of {self._name}"
        )
        return DrawnMinutes((term,), factor=lambda _: unit_min * units)

    def _states(self, key: str) -> bool:
        return self._draft.ask(lambda n: getattr(n.settings.activity[self._name], key) is not None)

    def _date(self, numbers: Numbers) -> int:
        return numbers.minute_of(numbers.settings.activity[self._name].not_before)

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

    def _work(self, activity: Activity, go: Go, minutes: DrawnMinutes, *, after: list[int | StepKey]) -> int:
        """The work of one go; its last step."""
        if not go.units:
            tags = self._draft.tags(ACTIVITIES, level=go.level, kind=self._name)
            last = self._draft.add(go.name, after=after, tags=tags)
        elif activity.lifts is not None:
            return self._lifts(activity, go, minutes, after=after)
        else:
            mode = WORK if self._states("work_h") else ALWAYS
            last = self._step(activity, go, minutes, mode=mode, after=after)
        if go.band:
            self._draft.ends.setdefault(activity_begun(self._name), last)
        return last

    def _lifts(self, activity: Activity, go: Go, minutes: DrawnMinutes, *, after: list[int | StepKey]) -> int:
        """One lift after the other; others may have the resources in between."""
        assert activity.lifts is not None, "the scenario is checked when it is loaded"
        step, last = NONE, activity.lifts - 1
        for k in range(activity.lifts):
            step = self._step(activity, go, minutes, mode=START, after=after, lift=k, is_last=k == last)
            self._draft.ends.setdefault(activity_begun(self._name), step)
            after = [step]
        return step

    def _step(
        self,
        activity: Activity,
        go: Go,
        minutes: DrawnMinutes,
        *,
        after: list[int | StepKey],
        mode: int,
        lift: int = 0,
        is_last: bool = True,
    ) -> int:
        draft, is_whole = self._draft, is_last and not go.band
        return draft.add(
            go.name if is_last else (go.name, ": lift ", lift + 1),
            key=activity_done(self._name) if is_whole else None,
            after=after,
            needs=draft.units(activity.needs | self._leave),
            keeps=draft.units(self._leave).pools if is_last and go.is_last else (),
            gives=self._gives if is_whole else (),
            window=self._window(activity, go),
            mode=mode,
            rank=self._rank,
            tags=draft.tags(ACTIVITIES, level=go.level, kind=self._name),
            minutes=minutes,
            item=lift + go.number * (activity.lifts or 0),
            place=go.number,
            date=self._date,
        )

    def _window(self, activity: Activity, go: Go) -> int:
        """Calendar and limits, held at the stated height or that of the level, the highest of several."""
        if activity.calendar is None:
            return NONE
        levels = self._order.levels
        floor = max(go.band) if go.band else None if go.level is None else levels.index(go.level)
        height_m = 0.0 if floor is None else float(levels.height_m[floor])
        if activity.height_m is not None:
            height_m = float(activity.height_m)
        return self._draft.closures.window(activity.calendar, limits=activity.limits, height_m=height_m)
