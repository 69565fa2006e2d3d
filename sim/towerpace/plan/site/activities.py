"""Work that happens once, one step after another: the crown, the tail, permits, tests."""

from __future__ import annotations

from collections.abc import Iterable

from towerpace.plan.laws import DAY_MIN, HOUR_MIN, Term
from towerpace.plan.parts import Mode, Step, Tags
from towerpace.plan.site.concrete import days_to_share, equivalent_age_factor
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import activity_name
from towerpace.plan.site.risks import add_delays
from towerpace.plan.site.sequence import Sequence
from towerpace.scenario.schema import Activity, Concrete, Condition

ACTIVITIES = "activities"


def add_activities(draft: Draft, sequence: Sequence) -> None:
    """All activities; they are served before the fronts, the first in the file first."""
    activities = sequence.settings.activity
    for k, (name, activity) in enumerate(activities.items()):
        _Writer(draft, sequence, name, rank=k - len(activities)).add(activity)


def waits_of(conditions: Iterable[Condition], *, name: str, draft: Draft, sequence: Sequence) -> list[str]:
    """Steps that must end before something that happens once may start; lags become steps of the draft."""
    found: list[str] = []
    for k, condition in enumerate(conditions):
        sources = list(sequence.sources_at(condition))
        if sources and condition.lag_h.mean() > 0:
            chance = Chance(factor=HOUR_MIN, terms=(Term(condition.lag_h, f"lag {k} of {name}"),))
            tags = Tags(trade=ACTIVITIES, kind="curing")
            wait = f"{name}: wait after {condition.on}" + (f" {k}" if k else "")
            sources = [
                draft.add(Step(wait, work=draft.expected(chance), after=sources, tags=tags), chance=chance)
            ]
        found += sources
    return list(dict.fromkeys(found))


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

    def __init__(self, draft: Draft, sequence: Sequence, name: str, *, rank: int) -> None:
        self._draft, self._sequence, self._name, self._rank = draft, sequence, name, rank

    def add(self, activity: Activity) -> None:
        """Its waits, its gate, what risks delay it, and the work itself."""
        after = waits_of(activity.after, name=self._name, draft=self._draft, sequence=self._sequence)
        if activity.concrete is not None:
            after.append(self._gate(activity.concrete))
        settings, date = self._sequence.settings, 0
        if activity.not_before is not None:
            date = (activity.not_before - settings.tower.start).days * DAY_MIN
        after += add_delays(self._draft, settings, on=self._name, after=list(after), date=date)
        if activity.lift_min is not None:
            self._lifts(activity, after=after, date=date)
        elif activity.work_h is not None:
            chance = Chance(factor=HOUR_MIN, terms=(Term(activity.work_h, f"hours of {self._name}"),))
            self._step(
                activity, activity_name(self._name), mode="work", after=after, date=date, chance=chance
            )
        elif activity.days is not None:
            chance = Chance(factor=DAY_MIN, terms=(Term(activity.days, f"days of {self._name}"),))
            self._step(activity, activity_name(self._name), after=after, date=date, chance=chance)

    def _gate(self, concrete: Concrete) -> str:
        """Time that passes until what was cast is strong enough."""
        owner, name = f"{self._name}: concrete", f"{self._name}: concrete to {float(concrete.share):.0%}"
        cast = waits_of([concrete.cast], name=owner, draft=self._draft, sequence=self._sequence)
        tags = Tags(trade=ACTIVITIES, kind="curing")
        return self._draft.add(Step(name, work=minutes_to_strength(concrete), after=cast, tags=tags))

    def _lifts(self, activity: Activity, *, after: list[str], date: int) -> None:
        """One lift after the other; others may have the resources in between."""
        assert activity.lift_min is not None, "asked for only with lifts"
        assert activity.lifts is not None, "the scenario is checked when it is loaded"
        last = activity.lifts - 1
        for k in range(activity.lifts):
            name = activity_name(self._name) if k == last else f"{self._name}: lift {k + 1}"
            chance = Chance(item=k, terms=(Term(activity.lift_min, f"lifts of {self._name}"),))
            after = [self._step(activity, name, mode="start", after=after, date=date, chance=chance)]

    def _step(
        self,
        activity: Activity,
        name: str,
        *,
        after: list[str],
        date: int,
        chance: Chance,
        mode: Mode = "always",
    ) -> str:
        return self._draft.add(
            Step(
                name,
                work=self._draft.expected(chance),
                after=after,
                needs=dict(activity.needs),
                window=self._window(activity),
                mode=mode,
                date=date,
                rank=self._rank,
                tags=Tags(trade=ACTIVITIES, level=activity.level, kind=self._name),
            ),
            chance=chance,
        )

    def _window(self, activity: Activity) -> str | None:
        """Calendar and limits, held at the stated height or that of the stated level."""
        if activity.calendar is None:
            return None
        height_m = 0.0 if activity.height_m is None else float(activity.height_m)
        if activity.height_m is None and activity.level is not None:
            levels = self._sequence.levels
            height_m = float(levels.height_m[levels.index(activity.level)])
        return self._draft.closures.window(activity.calendar, limits=activity.limits, height_m=height_m)
