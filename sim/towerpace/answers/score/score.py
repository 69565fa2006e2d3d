"""Earlier forecasts beside what came: marks of each, moves of its chances, and what became of promises."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from towerpace.answers.ahead.fronts import due_of
from towerpace.answers.prepare import Prepared
from towerpace.answers.said.answer import Answer
from towerpace.answers.score.marks import (
    as_badly,
    crps,
    crps_of_own,
    effective_number,
    later_of_own,
    later_than,
    place_among,
)
from towerpace.plan.model import NONE, Plan
from towerpace.record.promises import Promise
from towerpace.record.resolve import Past
from towerpace.record.site_record import SiteRecord
from towerpace.units import DAY_MIN, Flags, Floats

LATE_P = 0.8
WHOLE = None  # the level of the finish


@dataclass(frozen=True)
class Earlier:
    """A forecast of some day, as its results folder has it.

    folder : its name. day : its data date, None for one from the start. trials : (n, 1 + n_levels) days from
    the scenario's first to the finish and to each closing-in, inf beyond the horizon.
    """

    folder: str
    answer: Answer
    day: date | None
    trials: Floats

    @classmethod
    def of(cls, folder: str, answer: Answer) -> Earlier:
        """From a saved answer of a forecast or an update."""
        table = answer.table("finish")
        finish = [
            np.inf if value is None else (int(str(value)) - 1) // DAY_MIN
            for value in table.column("finish_min")
        ]
        closed = [_days(str(value or "")) for value in table.column("closing_in")]
        day = answer.fact("data_date") if answer.question == "update" else None
        trials = np.column_stack(
            (np.array(finish, dtype=np.float64), np.array(closed).reshape(len(finish), -1))
        )
        return cls(folder, answer, day if isinstance(day, date) else None, trials)


def _days(cell: str) -> list[float]:
    return [np.inf if day == "-" else float(day) for day in cell.split()]


@dataclass(frozen=True)
class Came:
    """What came, up to the last day of the record.

    days : (1 + n_levels,) from the scenario's first to the finish and to each closing-in, inf for what has
    not come. told : whether somebody dated it. seen : the last day that was seen.
    """

    levels: tuple[int | None, ...]
    days: Floats
    told: Flags
    seen: int

    @classmethod
    def of(cls, ready: Prepared, past: Past) -> Came:
        """From what the record says of the plan."""
        tower, plan = ready.tower, ready.tower.plan
        needed = np.flatnonzero(plan.planned & ~plan.optional)
        finish = past.ended[needed].max() if (past.ended[needed] != NONE).all() else NONE
        closed = [_ended(step, plan, past) for step in tower.closing_in.tolist()]
        ended = np.append(finish, np.array(closed, dtype=np.int64))
        days = np.where(ended == NONE, np.inf, np.maximum(0, ended - 1) // DAY_MIN)
        told = np.append(False, past.dated[tower.closing_in])
        return cls((WHOLE, *tower.levels[: len(tower.closing_in)]), days, told, past.until // DAY_MIN - 1)

    @property
    def cut(self) -> float:
        """Where trials and outcomes are cut: behind the last day seen, before the next."""
        return self.seen + 0.5


def _ended(step: int, plan: Plan, past: Past) -> int:
    """When a milestone came: nobody reports it, it follows from the work before it; -1 if not yet. [min]"""
    if past.ended[step] != NONE:
        return int(past.ended[step])
    if len(plan.needs[step]) or plan.window[step] != NONE:
        return NONE
    before = [_ended(p, plan, past) for p in plan.before[step].tolist() if plan.planned[p]]
    if not before or NONE in before:
        return NONE
    minute = max(before) + int(plan.work[step])
    return minute if minute <= past.until else NONE


@dataclass(frozen=True)
class Marked:
    """One forecast beside what came since its data date.

    which : columns of `came` that were open when it was made, (k,).
    """

    earlier: Earlier
    came: Came
    which: tuple[int, ...]

    @classmethod
    def of(cls, earlier: Earlier, came: Came, *, start: date) -> Marked:
        """The forecast's outcomes that were open when it was made."""
        since = -1 if earlier.day is None else (earlier.day - start).days
        return cls(earlier, came, tuple(np.flatnonzero(came.days > since).tolist()))

    @cached_property
    def trials(self) -> Floats:
        """Days of its trials, (n, k)."""
        trials: Floats = self.earlier.trials[:, list(self.which)]
        return trials

    @cached_property
    def outcome(self) -> Floats:
        """Days that came, inf for what is open, (k,)."""
        days: Floats = self.came.days[list(self.which)]
        return days

    @property
    def come(self) -> int:
        """How many have come."""
        return int(np.isfinite(self.outcome).sum())

    @cached_property
    def score(self) -> float:
        """Mean score, cut at the last day seen. [d]"""
        return float(crps(self.trials, self.outcome, seen=self.came.cut).mean())

    @cached_property
    def score_as_badly(self) -> float:
        """Chance that a right forecast has this score or a worse one. [-]"""
        own = crps_of_own(np.minimum(self.trials, self.came.cut)).mean(axis=1)
        return as_badly(own, self.score)

    @cached_property
    def late(self) -> int:
        """How many are known to be later than their P80."""
        return int(later_than(self.trials, self.outcome, p=LATE_P, seen=self.came.cut).sum())

    @cached_property
    def late_of_own(self) -> Floats:
        """The same of each of its own trials, (n,)."""
        late = later_of_own(self.trials, p=LATE_P, seen=self.came.cut)
        return np.asarray(late.sum(axis=1), dtype=np.float64)

    @property
    def late_as_badly(self) -> float:
        """Chance that so many or more of a right forecast are later than their P80. [-]"""
        return as_badly(self.late_of_own, self.late)

    @cached_property
    def places(self) -> Floats:
        """Where each outcome lies among the trials, (k,). [-]"""
        return place_among(self.trials, self.outcome, seen=self.came.cut)

    @cached_property
    def effective(self) -> tuple[float, float]:
        """Mean correlation of what is marked, and how many independent outcomes tell as much."""
        return effective_number(np.minimum(self.trials, self.came.cut))


@dataclass(frozen=True)
class Settled:
    """A promise that is due, and what became of it.

    done : day on which it was done, None where it is not yet. told : whether somebody dated that.
    chance : what a look ahead gave it, None without one. [-]
    """

    promise: Promise
    done: date | None
    told: bool
    chance: float | None

    @property
    def kept(self) -> bool:
        """Whether it was done by its day; a reason why it was not counts for more than a guess of the day."""
        return self.done is not None and self.done <= self.promise.by and not self.missed_by_reason

    @property
    def missed_by_reason(self) -> bool:
        """Whether only its reason tells that it was not kept."""
        in_time = self.done is not None and self.done <= self.promise.by
        return in_time and not self.told and bool(self.promise.reason)

    @property
    def quarrels(self) -> bool:
        """Whether somebody dated it in time, and there is a reason why it was not kept."""
        return self.kept and bool(self.promise.reason)


@dataclass(frozen=True)
class Score:
    """Forecasts marked by what came.

    marked : in the order of their data dates. settled : promises that are due.
    """

    ready: Prepared
    record: SiteRecord
    came: Came
    marked: tuple[Marked, ...]
    settled: tuple[Settled, ...]

    @property
    def changed(self) -> list[Earlier]:
        """Forecasts of another state of the scenario."""
        own = self.ready.scenario.hash
        return [one.earlier for one in self.marked if one.earlier.answer.run.hash != own]


def score(
    ready: Prepared,
    record: SiteRecord,
    past: Past,
    *,
    answers: Sequence[tuple[str, Answer]],
    promises: Sequence[Promise] = (),
) -> Score:
    """Mark saved forecasts, and settle promises with the chances that looks ahead gave them."""
    came, start = Came.of(ready, past), ready.tower.start
    looks = [answer for _, answer in answers if answer.question == "ahead"]
    earlier = [Earlier.of(name, answer) for name, answer in answers if answer.question != "ahead"]
    earlier = [one for one in earlier if one.day is None or one.day < record.at]
    earlier.sort(key=lambda one: (one.day or start, one.day is not None))
    marked = tuple(Marked.of(one, came, start=start) for one in earlier)
    due = [promise for promise in promises if promise.by <= record.at]
    settled = tuple(_settled(promise, ready, record, past, looks=looks) for promise in due)
    return Score(ready, record, came, marked, settled)


def _settled(
    promise: Promise, ready: Prepared, record: SiteRecord, past: Past, *, looks: Sequence[Answer]
) -> Settled:
    never = int(np.iinfo(np.int64).max)
    due = due_of(promise, record.words, ready.tower)
    begun, ended = (np.where(x == NONE, never, x) for x in (past.begun, past.ended))
    minute = due.done(begun, ended, never=never)
    done = None if minute == never else ready.days.date_of(minute)
    return Settled(promise, done, bool(past.dated[due.steps[-1]]), _chance_of(promise, looks))


def _chance_of(promise: Promise, looks: Sequence[Answer]) -> float | None:
    """The chance that the last look ahead before its day gave a promise."""
    given: list[tuple[date, float]] = []
    for look in looks:
        day = look.fact("data_date")
        if not isinstance(day, date) or day >= promise.by or all(t.name != "promises" for t in look.tables):
            continue
        table = look.table("promises")
        for name, chance in zip(table.column("promise"), table.column("chance"), strict=True):
            if str(name) == promise.name:
                given.append((day, float(str(chance))))
    return max(given)[1] if given else None
