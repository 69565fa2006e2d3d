"""What a record says of a site beside what befell it: one state of a data date for every question."""

from __future__ import annotations

from dataclasses import dataclass

from towerpace.answers.prepare import Prepared
from towerpace.answers.seen.acts import held_plan
from towerpace.answers.seen.outages import with_events, with_plan
from towerpace.answers.seen.site_state import SiteState, as_planned_times, site_state
from towerpace.answers.seen.struck import held_by, teaches
from towerpace.plan.model import Plan
from towerpace.record.events import Event
from towerpace.record.site_record import SiteRecord


@dataclass(frozen=True)
class Reading:
    """How a record is read.

    learn : whether paces are learned. events : what befell, by their begin. file : they stand in.
    """

    learn: bool = True
    events: tuple[Event, ...] = ()
    file: str = ""

    def state(self, ready: Prepared, record: SiteRecord) -> SiteState:
        """What is known at the data date of a record."""
        return self.state_and_usual(ready, record)[0]

    def state_and_usual(self, ready: Prepared, record: SiteRecord) -> tuple[SiteState, Plan]:
        """The same, and the plan as if no work had been held.

        Levels and trucks that came late were to come so late, units were away while they were out, and work
        that was held waited: it teaches nothing of its pace. Of events that begin later nothing is known.
        """
        begun = self.begun(record)
        known_of = with_events(ready, begun, at=record.at, file=self.file)
        held = held_by(begun, known_of.tower, record)
        as_held = with_plan(known_of, held_plan(known_of.tower.plan, held))
        state = site_state(
            as_held,
            record,
            planned=as_planned_times(as_held),
            learn=self.learn,
            teaches=lambda shown: teaches(shown, held),
        )
        return state, known_of.tower.plan

    def begun(self, record: SiteRecord) -> tuple[Event, ...]:
        """The events that had begun by the data date of a record."""
        return tuple(event for event in self.events if event.since <= record.at)
