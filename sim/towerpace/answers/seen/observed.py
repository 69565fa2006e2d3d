"""What a record tells of every step's minutes and dates, so that the site may be played once more."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from towerpace.answers.learn.minutes import SiteClock
from towerpace.answers.seen.site_state import SiteState, hours_of, seen_of
from towerpace.climate.hours import Hours
from towerpace.engine.spent import spent_min
from towerpace.plan.arrays import NONE
from towerpace.plan.chance import Law
from towerpace.plan.lists import ALWAYS
from towerpace.plan.model import Plan
from towerpace.plan.seen import Seen
from towerpace.plan.site.risks import HandoverDays, HandoverLaw
from towerpace.plan.site.truck_laws import TruckLaw
from towerpace.record.links import without_links
from towerpace.units import DAY_MIN, Flags, Ints

ANY = np.iinfo(np.int64).max  # no bound


@dataclass(frozen=True)
class Observed:
    """What is known of every step of a plan at a data date.

    plan : without the links that the site did not keep, its windows not cut but closed where work was held.
    usual : the same as if none had been. hours : of the site.
    seen : as pins and laws read it.
    work : (n,) minutes as observed, -1 where the law decides. [min]
    date : (n,) minute at which what waits for a day came, -1 where it did not or nobody knows. [min]
    by : (n,) minute by which it had come. [min]
    """

    plan: Plan
    usual: Plan
    hours: Hours | None
    seen: Seen
    work: Ints
    date: Ints
    by: Ints

    @property
    def until(self) -> int:
        """The data date. [min]"""
        return self.seen.data_date_min

    def clock(self) -> SiteClock:
        """Open minutes of every window, on the weather of the site."""
        return SiteClock(self.plan, hours=self.hours)


def observed(state: SiteState, *, usual: Plan, came: Mapping[int, int]) -> Observed:
    """What the record of a state tells of minutes and dates.

    state : of a plan in which work waits and pauses while it was held. usual : the plan if none had been.
    came : when levels and trucks came of which events say so, by step. [min]

    A level or truck that a row of the log dates came then, or that an event dates, as far as the sheets let
    it; of the others it is only known by which sheet, and their law decides.
    Minutes are those of steps that the log times in full. What only passes time (a permit, a new panel on its
    way) took as long as it did where its end is dated, or where it is a remedy: nobody else says how long.
    """
    past, tower = state.past, state.ready.tower
    plan, usual = (without_links(plan, past.let_go) for plan in (tower.plan, usual))
    hours = hours_of(state.ready, state.measured)
    clock = SiteClock(plan, hours=hours)
    work = np.full(plan.n, NONE, dtype=np.int64)
    for step in np.flatnonzero(past.told & (past.ended != NONE)).tolist():
        work[step] = clock.between(step, int(past.begun[step]), int(past.ended[step]))
    passed = passes_time(plan) & (past.ended != NONE) & (past.dated | ~plan.planned)
    work[passed] = (past.ended - past.begun)[passed]
    date, by = np.full(plan.n, NONE, dtype=np.int64), np.full(plan.n, ANY)
    exact = past.latest - past.earliest < DAY_MIN
    for law in tower.laws:
        if isinstance(law, HandoverLaw | TruckLaw):
            own = law.steps[past.ended[law.steps] != NONE]
            by[own] = past.latest[own]
            own = own[exact[own]]
            date[own] = past.ended[own]
    for step, minute in came.items():
        if past.ended[step] != NONE and not exact[step]:
            date[step] = min(max(minute, int(past.earliest[step])), int(past.latest[step]))
    spent = spent_min(plan, began=past.begun, ended=past.ended, until=past.until, hours=hours)
    return Observed(plan, usual, hours, replace(seen_of(state), spent=spent), work, date, by)


def passes_time(plan: Plan) -> Flags:
    """Steps that need nothing and ask no window, (n,)."""
    alone: Flags = (np.diff(plan.needs.start) == 0) & ((plan.window == NONE) | (plan.mode == ALWAYS))
    return alone


def handover_days(laws: Sequence[Law]) -> HandoverDays | None:
    """Days on which levels are handed over; None if on any."""
    return next((law.days for law in laws if isinstance(law, HandoverLaw)), None)
