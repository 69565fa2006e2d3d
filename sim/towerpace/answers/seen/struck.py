"""Which steps of a plan an event struck, inside a stretch of time."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from towerpace.answers.learn.minutes import Shown
from towerpace.answers.seen.acts import Act, Held, Late, Out
from towerpace.answers.seen.observed import Observed, handover_days
from towerpace.answers.seen.outages import late_steps
from towerpace.plan.arrays import NONE
from towerpace.plan.site.tower import Tower
from towerpace.record.effects import Struck, places_struck
from towerpace.record.events import Event
from towerpace.record.places_steps import steps_of
from towerpace.record.site_record import SiteRecord
from towerpace.record.step_index import index_of
from towerpace.record.words import Words
from towerpace.units import Ints

NO_STEPS = np.zeros(0, dtype=np.int64)


@dataclass(frozen=True)
class Stretch:
    """A stretch of a site's time, from a minute on to the day up to which it was seen.

    tower : of the scenario that knows of the events. since : minute from which the site is played. [min]
    """

    tower: Tower
    words: Words
    known: Observed
    since: int

    def acts(self, events: Sequence[Event]) -> dict[str, Act]:
        """What each event did in the stretch, by its name."""
        acts, taken = dict[str, Act](), set[int]()
        for event in events:
            if event.effect.comes_late:
                acts[event.name] = self._late(event)
            elif event.effect.struck is Struck.WORK:
                acts[event.name] = self._held(event)
            else:
                acts[event.name] = act = self._out(event, taken)
                taken.update(act.leave.tolist())
        return acts

    def _span(self, event: Event) -> tuple[int, int]:
        """The part of an event that lies in the stretch. [min]"""
        start, until = self.tower.start, self.known.until
        since = max(event.from_min(start), self.since)
        return since, max(event.to_min(start, seen_until=until), since)

    def _late(self, event: Event) -> Late:
        since, to = self._span(event)
        steps = late_steps(event, self.tower)
        is_level = event.effect.struck is Struck.HANDOVER
        open_still = self.known.seen.ended[steps[:1]] == NONE
        return Late(
            steps=steps,
            since=self.since,
            due=since if open_still.any() else NONE,
            late=to - since,
            levels=self.tower.handover if is_level else NO_STEPS,
            days=handover_days(self.tower.laws) if is_level else None,
        )

    def _held(self, event: Event) -> Held:
        return Held(held_steps(event, self.tower, self.words), *self._span(event))

    def _out(self, event: Event, taken: Collection[int]) -> Out:
        since, to = self._span(event)
        leave, back = outage_steps(event, self.tower, seen_until=self.known.until, taken=taken)
        began = self.known.seen.began[leave]
        gone = (began != NONE) & (began < self.since)
        return Out(leave, back, gone, since, to, never=self.tower.plan.horizon)


def held_by(events: Sequence[Event], tower: Tower, record: SiteRecord) -> list[Held]:
    """What was held, and when, up to the end of a record."""
    held = [event for event in events if event.effect.struck is Struck.WORK]
    return [
        Held(
            held_steps(event, tower, record.words),
            event.from_min(tower.start),
            event.to_min(tower.start, seen_until=record.until),
        )
        for event in held
    ]


def teaches(shown: Shown, held: Iterable[Held]) -> bool:
    """Whether a row of the log tells of a pace: not if the work was held meanwhile."""
    return not any(
        shown.start < act.to
        and (shown.finish is None or shown.finish > act.since)
        and np.isin(act.steps, shown.steps).any()
        for act in held
    )


def held_steps(event: Event, tower: Tower, words: Words) -> Ints:
    """Steps of the work that was held, (k,)."""
    index = index_of(tower.plan)
    steps = [step for place in places_struck(event.effect, words) for step in steps_of(place, tower, index)]
    return np.array(sorted(set(steps)), dtype=np.int64)


def outage_steps(
    event: Event, tower: Tower, *, seen_until: int, taken: Collection[int] = ()
) -> tuple[Ints, Ints]:
    """Steps at which the units of an event leave and are back, (k,); none if they are away by plan."""
    plan, name = tower.plan, event.effect.name
    start = tower.start
    since, to = event.from_min(start), event.to_min(start, seen_until=seen_until)
    number = {said: step for step, said in enumerate(plan.names) if ": absence " in said}
    pairs = [
        (step, number[f"{said} over"])
        for said, step in number.items()
        if said.startswith(f"{name} ") and f"{said} over" in number
    ]
    own = [(a, b) for a, b in pairs if plan.date[a] == since and plan.date[b] == to and a not in taken]
    if event.effect.struck is Struck.UNIT:
        own = own[:1]
    leave, back = zip(*own, strict=True) if own else ((), ())
    return np.array(leave, dtype=np.int64), np.array(back, dtype=np.int64)
