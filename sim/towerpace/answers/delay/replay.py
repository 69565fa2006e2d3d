"""The site played once more from a minute on: as it was, or as it would have been without some events.

Pins reach up to that minute only. Of all that was seen later the minutes, dates and weather stay as they were
seen; the rest is drawn as after any update, from the same numbers with an event and without it. That is
abduction, action and prediction (Pearl 2009, Causality, section 7.1, from memory).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from towerpace.answers.delay.bounds import Bounds, bounds_of
from towerpace.answers.seen.acts import Act, held_plan
from towerpace.answers.seen.observed import Observed
from towerpace.answers.seen.site_state import SiteState, chooser_of
from towerpace.draws import Chooser, Draw
from towerpace.engine.spent import spent_min
from towerpace.plan.arrays import NONE
from towerpace.plan.chance import Drawn
from towerpace.plan.model import Plan
from towerpace.plan.pins import Pins, pinned, resumed
from towerpace.plan.seen import Seen
from towerpace.record.resolve import Past
from towerpace.units import Flags, Ints


@dataclass(frozen=True)
class Replay:
    """What every trial of a replay takes from the record.

    usual : the plan from a minute on, as if no work had been held.
    since : that minute, up to which the past is pinned. [min]  seen : the record at the data date.
    began, ended : (n,) of the pinned past; -1 for others. [min]
    total : (n,) minutes of steps whose minutes are known, -1 for others. [min]
    between : bounds of the minutes of the others.
    going_on : (n,) steps in progress at the data date whose minutes until then are taken as they were seen.
    spent : (n,) minutes at work by `since` of those then in progress. [min]
    date, by : (n,) minute at which what waits for a day came, -1 where the law decides, and by which it had.
        [min]
    """

    usual: Plan
    since: int
    seen: Seen
    began: Ints
    ended: Ints
    total: Ints
    between: Bounds
    going_on: Flags
    spent: Ints
    date: Ints
    by: Ints

    def but(self, steps: Collection[int]) -> Replay:
        """The same, but of some steps the minutes are not known."""
        if not steps:
            return self
        total = self.total.copy()
        total[list(steps)] = NONE
        return replace(self, total=total, between=self.between.but(steps))

    def laid_over(self, drawn: Drawn, acts: Mapping[str, Act], off: Collection[str]) -> Drawn:
        """A trial with all that was observed. off : names of the events that are taken out."""
        work = np.where(self.total != NONE, self.total, self.between.kept(drawn.work))
        left = pinned(self.seen, work=drawn.work, skip=drawn.skip).left
        work = np.where(self.going_on & ~drawn.skip, self.seen.spent + left, work)
        date = np.where(self.date != NONE, self.date, np.minimum(drawn.date, self.by))
        into = Drawn(work, date, drawn.skip)
        for name, act in acts.items():
            if name in off:
                act.off(into)
            else:
                act.on(into)
        return into

    def pins(self, drawn: Drawn) -> Pins:
        """The past of one trial up to the minute from which it is played."""
        began = np.where(drawn.skip, NONE, self.began)
        ended = np.where(drawn.skip, NONE, self.ended)
        in_progress = (began != NONE) & (ended == NONE)
        left = np.where(in_progress, np.maximum(drawn.work - self.spent, 0), NONE)
        return Pins(began, ended, left, self.since)


@dataclass(frozen=True)
class ReplayChooser(Chooser):
    """Draws trials of a site that is played once more.

    acts : what events did, by name. off : those that are taken out.
    by_law : steps that take the minutes of the law, whatever was observed.
    """

    replay: Replay = field(kw_only=True)
    acts: Mapping[str, Act] = field(kw_only=True)
    off: frozenset[str] = frozenset()
    by_law: tuple[int, ...] = ()

    def whole(self, drawn: Drawn, seed: int, trial: int) -> Draw:
        """The draw of one trial: as observed where it was seen, without the events that are taken out."""
        own = self.replay.but(self.by_law).laid_over(drawn, self.acts, self.off)
        return Draw(own.work, own.date, own.skip, self.hours(seed, trial), self.replay.pins(own))

    def without(self, off: Collection[str], *, by_law: Collection[int] = ()) -> ReplayChooser:
        """The same without some events, and with the minutes of the law for some steps."""
        befell = (act for name, act in self.acts.items() if name not in off)
        plan = held_plan(self.replay.usual, befell)
        return replace(self, plan=plan, off=frozenset(off), by_law=tuple(by_law))


def replay_of(state: SiteState, known: Observed, acts: Mapping[str, Act], *, since: int) -> ReplayChooser:
    """Trials that are played from a minute on with everything that the record tells. since : [min]"""
    seen = known.seen
    began = np.where(seen.began < since, seen.began, NONE)
    ended = np.where((began != NONE) & (seen.ended <= since), seen.ended, NONE)
    plan = resumed(known.usual, since)
    replay = Replay(
        usual=plan,
        since=since,
        seen=seen,
        began=began,
        ended=ended,
        total=known.work,
        between=bounds_of(state, known, began=began, ended=ended),
        going_on=_going_on(state.past, since=since),
        spent=spent_min(known.plan, began=began, ended=ended, until=since, hours=known.hours),
        date=known.date,
        by=known.by,
    )
    base = chooser_of(state, weather=state, learned=state)
    held = seen.held if since == known.until else _held_anyway(state, known)
    return ReplayChooser(
        held_plan(plan, acts.values()),
        base.laws,
        base.weather,
        replace(base.known, seen=replace(seen, held=held, quiet_until=since)),
        replay=replay,
        acts=acts,
    )


def _going_on(past: Past, *, since: int) -> Flags:
    """Steps in progress at the data date of which the minutes until then are not for the law to say, (n,).

    Of a step that the sheet tells a share of, and nobody when it began, the begin is a guess: its minutes are
    drawn, unless the guess is pinned.
    """
    running = (past.begun != NONE) & (past.ended == NONE)
    going_on: Flags = running & (past.begin_told | np.isnan(past.share) | (past.begun < since))
    return going_on


def _held_anyway(state: SiteState, known: Observed) -> Ints:
    """Of the steps that wait for the data date those that wait for nothing else, and remakes not ordered.

    What was not done because something before it was late would have come sooner without it.
    """
    waits = np.diff(known.plan.before.start) > 0
    later = np.array(state.past.outcomes.remade_later, dtype=np.int64)
    held = known.seen.held
    return held[~waits[held] | np.isin(held, later)]
