"""Risks that delay: a step left out unless the risk befalls, or a later handover; and the structure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from typing import ClassVar
from weakref import WeakKeyDictionary

import numpy as np

from towerpace.lots.streams import Streams
from towerpace.plan.arrays import PlanArrays
from towerpace.plan.chance import RISKS as RISK_EVENTS
from towerpace.plan.chance import STRUCTURE, Drawn, Known, Law, MadeOnce, Probe
from towerpace.plan.given import quantile_above
from towerpace.plan.seen import Seen
from towerpace.plan.site.drafting import Draft, DrawnMinutes, Uncertain
from towerpace.plan.site.fronts import StepKey, handover_step
from towerpace.plan.site.numbers import Numbers, Recipe
from towerpace.plan.site.paces import risk_row, size_purpose
from towerpace.plan.site.slips_seen import Delay, SlipsSeen, Span, slips_of
from towerpace.plan.site.working_hours import calendar_shifts
from towerpace.scenario.levels import Levels
from towerpace.scenario.spread_rows import Row, Run
from towerpace.scenario.spreads import Spread
from towerpace.units import DAY_MIN, Floats, Ints

RISKS = "risks"


@dataclass(frozen=True)
class ChanceLaw(MadeOnce, Law):
    """Leaves steps out unless a risk befalls.

    steps : (k,). chance : that it befalls. [-]
    """

    source: ClassVar[str] = RISK_EVENTS
    steps: Ints
    risk: str
    chance: float

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw whether the risk befalls."""
        befalls = known.befalls(self.risk, drawn=self._row.drawn(streams) < self.chance)
        into.skip[..., self.steps] = ~befalls

    def takes_many(self, known: Known) -> bool:  # noqa: ARG002  one interface
        """Always."""
        return True

    @cached_property
    def _row(self) -> Row:
        return risk_row(self.risk)


@dataclass(frozen=True)
class HandoverDays:
    """Days on which levels are handed over.

    next_day : (n_days,) of each day of the project itself, or the next one on which they are; the last ones
        beyond it are themselves.
    """

    next_day: Ints

    @property
    def longest_min(self) -> int:
        """For how many minutes a level is put off at most."""
        return DAY_MIN * int((self.next_day - np.arange(len(self.next_day))).max(initial=0))

    def on_them(self, minutes: Ints) -> Ints:
        """Minutes, those of other days put off to the first minute of the next such day. [min]"""
        day = minutes // DAY_MIN
        known = np.clip(day, 0, len(self.next_day) - 1)
        later = np.where(day < len(self.next_day), self.next_day[known], day)
        put_off: Ints = np.where(later > day, later * DAY_MIN, minutes)
        return put_off


@dataclass(frozen=True)
class LateLevelLaw(MadeOnce, Law):
    """Makes a level and all above it later if a risk befalls, as every slip of the structure does.

    steps : (k,) handovers of the level and of those above. size : delay. [d]
    days : on which levels are handed over; None if on any.
    """

    source: ClassVar[str] = RISK_EVENTS
    steps: Ints
    risk: str
    chance: float
    size: Spread
    days: HandoverDays | None = None

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw whether the risk befalls, and how long it lasts."""
        if self.is_over(known):
            return
        lots, days = self._row.by_run(streams)
        befalls = known.befalls(self.risk, drawn=lots < self.chance)
        due = into.date[..., self.steps]
        if known.seen is not None and known.seen.risks.get(self.risk):
            late = (known.seen.data_date_min - int(due[0])) / DAY_MIN
            u = streams(size_purpose(self.risk)).random()
            days = np.array([quantile_above(self.size, u, late)])
        later = due + np.rint(days * DAY_MIN).astype(np.int64)
        later = later if self.days is None else self.days.on_them(later)
        into.date[..., self.steps] = np.where(befalls, later, due)

    def takes_many(self, known: Known) -> bool:
        """Until the site has shown something."""
        return known.seen is None

    @cached_property
    def _row(self) -> Row:
        return risk_row(self.risk, self.size)

    def is_over(self, known: Known) -> bool:
        """Whether the level was handed over, so that its delay, if any, is in the date."""
        return known.seen is not None and bool(known.seen.begun[self.steps[0]])


@dataclass(frozen=True)
class HandoverLaw(MadeOnce, Law):
    """Dates of the levels: planned minute plus the slips of this level and of all below it.

    steps, planned : (n_levels,) from the lowest up. [min]  slip_days : spread per level. [d]
    days : on which levels that are not handed over as planned are; None if on any.
    delays : of the risks that make a level and those above it late.
    A level is never handed over before the one below it, nor before the start.
    """

    source: ClassVar[str] = STRUCTURE
    steps: Ints
    planned: Ints
    slip_days: Spread
    days: HandoverDays | None = None
    delays: tuple[Delay, ...] = ()

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw the handover of every level; what slipped so far stays, the next level comes after today."""
        slips = self._row.drawn(streams)
        if known.seen is not None:
            self._go_on(slips, streams("structure").random(len(self.steps)), known.seen)
        late = self.planned + np.rint(np.cumsum(slips, axis=-1) * DAY_MIN).astype(np.int64)
        late = np.maximum(np.maximum.accumulate(late, axis=-1), 0)
        into.date[..., self.steps] = self._on_days(late, self.planned)

    def takes_many(self, known: Known) -> bool:
        """Until the site has shown something."""
        return known.seen is None

    @cached_property
    def _row(self) -> Row:
        return Row([Run(np.arange(len(self.steps)), self.slip_days, "structure")])

    def _go_on(self, slips: Floats, u: Floats, seen: Seen) -> None:
        """Set the slips so that they agree with what was seen, and the first open level is not yet there."""
        if seen not in self._seen:
            self._seen[seen] = self._slips_seen(seen)
        so_far = self._seen[seen].drawn(u)
        slips[: len(so_far)] = so_far
        level = len(so_far)
        late = any(seen.risks.get(delay.risk) and delay.level == level for delay in self.delays)
        if level < len(self.steps) and not late:
            due = self.planned[level] / DAY_MIN + float(so_far.sum())
            slips[level] = quantile_above(self.slip_days, float(u[level]), seen.data_date_min / DAY_MIN - due)

    @cached_property
    def _seen(self) -> WeakKeyDictionary[Seen, SlipsSeen]:
        return WeakKeyDictionary()

    def _slips_seen(self, seen: Seen) -> SlipsSeen:
        """Slips of the levels that were handed over, given when, and that the next one was not."""
        spans = []
        for level, step in enumerate(self.steps.tolist()):
            own = tuple((d, seen.risks.get(d.risk)) for d in self.delays if d.level == level)
            slips, planned = slips_of(self.slip_days, own), int(self.planned[level])
            if not seen.done[step]:
                spans.append(Span(seen.data_date_min + 1, None, planned, slips))
                break
            spans.append(Span(int(seen.earliest[step]), int(seen.latest[step]), planned, slips))
        return SlipsSeen(spans, self._on_days, reach=0 if self.days is None else self.days.longest_min)

    def _on_days(self, late: Ints, planned: Ints | int) -> Ints:
        """Minutes at which levels are handed over that are ready at some minutes. [min]"""
        return late if self.days is None else np.where(late == planned, late, self.days.on_them(late))

    def probes(self, plan: PlanArrays, *, until: int) -> Iterator[Probe]:  # noqa: ARG002  one interface
        """How late the top level is."""
        top = int(self.steps[-1])
        late = partial(_later_than, top, int(plan.date[top]))
        yield Probe("slip of the top level", self.source, "d", DAY_MIN, late)

    def drawn_for(self, plan: PlanArrays) -> Iterator[tuple[Spread, float]]:  # noqa: ARG002  one interface
        """A slip for every level."""
        yield self.slip_days, len(self.steps)


def _later_than(planned_step: int, minute: int, drawn: Drawn) -> int:
    return int(drawn.date[planned_step]) - minute


def no_date(_: Numbers) -> int:
    """The first minute of the project. [min]"""
    return 0


def add_delays(
    draft: Draft, *, on: str, after: list[int | StepKey], date: Recipe = no_date
) -> list[int | StepKey]:
    """Steps that hold what follows them for the days of every risk to `on`; the last of them, or none.

    after, date : what the thing itself waits for; only then can the delay begin. [min]
    """
    last: list[int | StepKey] = []
    for k, risk in enumerate(draft.settings.risk):
        if risk.on == on and _delays(draft, k):
            last = [_add_delay(draft, k, risk.name, after=last or after, date=date)]
    return last


def _delays(draft: Draft, k: int) -> bool:
    return draft.ask(lambda n: n.settings.risk[k].delay_days is not None)


def _delay_days(k: int, numbers: Numbers) -> Spread:
    days = numbers.settings.risk[k].delay_days
    assert days is not None, "asked for only of a risk that delays"
    return days


def _add_delay(draft: Draft, k: int, risk: str, *, after: list[int | StepKey], date: Recipe) -> int:
    term = Uncertain(partial(_delay_days, k), size_purpose(risk), RISK_EVENTS)
    name = f"risk {risk}"
    step = draft.add(
        name,
        after=after,
        flag=draft.flag(name),
        planned=False,
        tags=draft.tags(RISKS, kind=name),
        minutes=DrawnMinutes((term,), factor=lambda _: DAY_MIN),
        date=date,
    )
    steps = draft.numbers_of([step])
    draft.laws.append(lambda n: ChanceLaw(steps, risk, float(n.settings.risk[k].chance)))
    return step


def add_late_levels(draft: Draft, levels: Levels) -> None:
    """Laws of the risks that make levels late."""
    for k, risk in enumerate(draft.settings.risk):
        if risk.on == "handover" and _delays(draft, k):
            assert risk.level is not None, "the scenario is checked when it is loaded"
            late = levels.levels[levels.index(risk.level) :]
            steps = draft.numbers_of(handover_step(level) for level in late)
            draft.laws.append(partial(_late_level_law, k, steps))


def late_level_delays(numbers: Numbers, levels: Levels) -> tuple[Delay, ...]:
    """Delays of the risks that make a level and those above it late."""
    return tuple(
        Delay(risk.name, levels.index(risk.level), float(risk.chance), risk.delay_days)
        for risk in numbers.settings.risk
        if risk.on == "handover" and risk.delay_days is not None and risk.level is not None
    )


def handover_days(numbers: Numbers) -> HandoverDays | None:
    """Working days of the structure's calendar; None if it has none."""
    settings = numbers.settings
    if settings.structure.calendar is None:
        return None
    n_days = settings.tower.horizon_days
    shifts = calendar_shifts(
        settings.calendar[settings.structure.calendar], start=settings.tower.start, days=n_days
    )
    worked = np.append(np.unique(shifts[:, 0] // DAY_MIN), n_days)
    every = np.arange(n_days)
    return HandoverDays(worked[np.searchsorted(worked, every)])


def _late_level_law(k: int, steps: Ints, numbers: Numbers) -> Law:
    risk = numbers.settings.risk[k]
    return LateLevelLaw(steps, risk.name, float(risk.chance), _delay_days(k, numbers), handover_days(numbers))
