"""What a site has shown of a plan up to a data date, as laws of chance and the pins of a trial read it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.units import Flags, Floats, Ints


@dataclass(frozen=True, eq=False)
class Seen:
    """What a site has shown of the n steps of a plan; -1 and NaN where nothing is known.

    Attributes
    ----------
    data_date_min : int
        Up to when the site was seen. [min]
    began, ended : ndarray
        When each step began and ended, shape (n,), int64. [min]
    share : ndarray
        Share of its work that a step in progress has done, shape (n,); NaN where nobody told it. [-]
    spent : ndarray
        Minutes that a step in progress has been at work, shape (n,), int64: of one that pauses those in
        which its window was open. [min]
    since : ndarray
        Since when a step that has not begun is held by its date or its own minutes alone, shape (n,), int64:
        the end of all that it waits for, 0 if it waits for nothing, -1 if something has not ended. [min]
    earliest, latest : ndarray
        First and last minute at which each step that has ended may have, both included, shape (n,), int64;
        without meaning for the others. [min]
    held : ndarray
        Steps that are known not to have begun though nothing but time would hold them, shape (k,).
    lost : dict
        Panels that were lost, by the step that set them first: whether before they were set.
    risks : dict
        Risks that are no longer open, by name: whether they befell.
    failed_tries : int
        Tries of the mock-up that failed.
    passed : bool
        Whether the mock-up has passed.
    quiet_until : int, optional
        Up to when failures that nobody told of are over, None for the data date: earlier where a site is
        played once more from a minute on. [min]
    """

    data_date_min: int
    began: Ints
    ended: Ints
    share: Floats
    spent: Ints
    since: Ints
    earliest: Ints
    latest: Ints
    held: Ints = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    lost: Mapping[int, bool] = field(default_factory=dict)
    risks: Mapping[str, bool] = field(default_factory=dict)
    failed_tries: int = 0
    passed: bool = False
    quiet_until: int | None = None

    @property
    def failures_over(self) -> int:
        """Up to when failures that nobody told of are over. [min]"""
        return self.data_date_min if self.quiet_until is None else self.quiet_until

    @property
    def begun(self) -> Flags:
        """Which steps have begun, (n,)."""
        begun: Flags = self.began != NONE
        return begun

    @property
    def done(self) -> Flags:
        """Which steps have ended, (n,)."""
        done: Flags = self.ended != NONE
        return done

    @property
    def timed(self) -> Flags:
        """Steps in progress of which only the minutes spent are known, (n,)."""
        timed: Flags = self.begun & ~self.done & np.isnan(self.share)
        return timed

    def waited(self, steps: Ints) -> Ints:
        """Minutes that date or own minutes alone have held some steps, (k,); -1 for others. [min]"""
        since = self.since[steps]
        return np.where((since != NONE) & ~self.begun[steps], self.data_date_min - since, NONE)


def held_since(plan: PlanArrays, *, began: Ints, ended: Ints) -> Ints:
    """`Seen.since` of a plan.

    Remedies that have not begun hold nobody: where a step that follows them is known, they were not needed.
    """
    before, after = plan.before.values, plan.before.owners
    since = np.zeros(plan.n, dtype=np.int64)
    open_remedy = ~plan.planned[before] & (began[before] == NONE)
    np.maximum.at(since, after, np.where(open_remedy, 0, ended[before]))
    since[after[(ended[before] == NONE) & ~open_remedy]] = NONE
    since[began != NONE] = NONE
    return since


@dataclass(frozen=True, eq=False)
class Settled:
    """What of a trial follows from what was seen, whatever its laws have drawn.

    needed, left_out : (n,) steps that cannot be left out, and that must be.
    """

    seen: Seen
    needed: Flags
    left_out: Flags

    @classmethod
    def of(cls, plan: PlanArrays, seen: Seen) -> Settled:
        """Of the remedies those that began were needed; those that others did not wait for were not."""
        before, after = plan.before.values, plan.before.owners
        passed = np.zeros(plan.n, dtype=np.bool_)
        passed[before[seen.begun[after]]] = True
        passed &= ~seen.begun & (plan.flag != NONE)
        for step in plan.order[::-1].tolist():
            if passed[step]:
                for earlier in plan.before[step].tolist():
                    passed[earlier] |= plan.flag[earlier] != NONE and not seen.begun[earlier]
        return cls(seen, _with_flag(plan, seen.begun), _with_flag(plan, passed))

    def settle(self, *, date: Ints, skip: Flags) -> None:
        """Set dates and what is left out of a trial right."""
        held = self.seen.held
        date[held] = np.maximum(date[held], self.seen.data_date_min)
        skip[self.left_out] = True
        skip[self.needed] = False


def _with_flag(plan: PlanArrays, steps: Flags) -> Flags:
    """Whether a step carries the flag of one of some steps, (n,)."""
    flags = plan.flag[steps]
    carries: Flags = (plan.flag != NONE) & np.isin(plan.flag, flags[flags != NONE])
    return carries
