"""Pins: what has been seen of a site up to a data date, step by step, laid over a plan.

A pinned step began at a minute and ended at another, or has some work left at the data date. It becomes
ready as any other, its date lowered to its begin; it joins no line, watches nothing and asks neither window
nor pool. At its begin, after all endings of the instant and in the order of keys, it takes what it needs,
whatever is free: a pool may go below nothing, and a positioned unit that does not exist is lent until it is
given back. It ends when it ended; else what is left passes from the data date on by its mode. A pool below
nothing lets nobody start until it is repaid. Everything else that needs a pool or a window starts at the data
date or later.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.model import Plan
from towerpace.plan.parts import Window
from towerpace.plan.seen import Seen
from towerpace.units import Flags, Ints

FROM_DATA_DATE = "from the data date on"


@dataclass(frozen=True)
class Pins:
    """What has been seen of each of n steps up to a data date.

    Parameters
    ----------
    began : ndarray
        When it began, (n,) int64, -1 for a step that had not. [min]
    ended : ndarray
        When it ended, (n,) int64, -1 for one that had not. [min]
    left : ndarray
        Work left at the data date of a step that had begun and not ended, (n,) int64, else -1. [min]
    data_date_min : int
        Up to when the site was seen. [min]

    Examples
    --------
    >>> import numpy as np
    >>> from dataclasses import replace
    >>> from towerpace import Plan, Pool, Step, run
    >>> from towerpace.draws import as_planned
    >>> from towerpace.plan.pins import Pins, resumed
    >>> plan = Plan([Step("a", work=20, needs={"gang": 1}), Step("b", work=5, needs={"gang": 1})],
    ...             pools=[Pool("gang", 1)])
    >>> seen = Pins(np.array([2, -1]), np.array([-1, -1]), np.array([30, -1]), data_date_min=10)
    >>> run(resumed(plan, 10), replace(as_planned(plan), pins=seen)).finished_at("b")
    45
    """

    began: Ints
    ended: Ints
    left: Ints
    data_date_min: int

    @property
    def pinned(self) -> Flags:
        """Which steps are pinned, (n,)."""
        pinned: Flags = self.began != NONE
        return pinned

    def check(self, plan: Plan, skip: Flags) -> None:
        """Refuse pins that no site can have shown.

        skip : steps that are left out, (n,).

        Raises
        ------
        ValueError
            For arrays of another length than the plan, steps left out that are pinned, a begin at or after
            the data date, an end before the begin or after the data date, a step with both an end and work
            left or neither, and a step that began before one that it waits for had ended. Steps are named.

        Notes
        -----
        What a step waits for through steps that are left out is not looked at: then it begins as soon as they
        let it.
        """
        for word in ("began", "ended", "left"):
            if getattr(self, word).shape != (plan.n,):
                raise ValueError(
                    f"pins: {word} has shape {getattr(self, word).shape}, the plan needs ({plan.n},)"
                )
        pinned, ended, date = self.pinned, self.ended != NONE, self.data_date_min
        _refuse(plan, pinned & skip, "is left out and cannot be pinned")
        _refuse(plan, ~pinned & (ended | (self.left != NONE)), "has ended or has work left without a begin")
        _refuse(
            plan,
            pinned & ((self.began < 0) | (self.began >= date)),
            f"must begin before the data date, {date}",
        )
        _refuse(
            plan,
            ended & ((self.ended < self.began) | (self.ended > date)),
            "must end between begin and data date",
        )
        _refuse(plan, pinned & (ended == (self.left != NONE)), "needs an end or work left, one of the two")
        _refuse(plan, pinned & ~ended & (self.left < 0), "has less than no work left")
        self._check_order(plan, skip)

    def _check_order(self, plan: Plan, skip: Flags) -> None:
        """Every predecessor of a pinned step has ended by its begin, or is left out."""
        before, after = plan.before.values, plan.before.owners
        asked = self.pinned[after] & ~skip[before]
        broken = asked & ((self.ended[before] == NONE) | (self.ended[before] > self.began[after]))
        if broken.any():
            edge = int(np.argmax(broken))
            first, second = plan.names[int(before[edge])], plan.names[int(after[edge])]
            raise ValueError(f"pins: '{second}' began before '{first}' had ended, for which it waits")


def _refuse(plan: Plan, wrong: Flags, why: str) -> None:
    if wrong.any():
        raise ValueError(f"pins: '{plan.names[int(np.argmax(wrong))]}' {why}")


def pinned(seen: Seen, *, work: Ints, skip: Flags) -> Pins:
    """The pins of one trial: what was seen, and of each step in progress what this trial has left of it.

    work : (n,) minutes of each step in this trial. [min]  skip : (n,) steps that it leaves out.

    Of a step of which the share done is known the rest of its work is left; else its work less the minutes
    that it has been at work.
    """
    begun = seen.begun & ~skip
    running = begun & ~seen.done
    share = np.nan_to_num(seen.share)
    rest = np.where(seen.timed, np.maximum(work - seen.spent, work > 0), np.ceil((1 - share) * work))
    return Pins(
        began=np.where(begun, seen.began, NONE),
        ended=np.where(begun, seen.ended, NONE),
        left=np.where(running, rest.astype(np.int64), NONE),
        data_date_min=seen.data_date_min,
    )


def resumed(plan: Plan, minute: int) -> Plan:
    """The plan of what is still to be done from a data date on: nothing that is not pinned starts before.

    minute : the data date. [min]

    Windows lose the shifts before it. Steps that need a pool and have no window get one that opens then;
    their dates stay as they are, because steps made ready together would lose the order in which they came.
    Steps with neither run by themselves from what has been seen.
    """
    windows = [_clipped(window, minute) for window in plan.windows]
    has_needs = np.diff(plan.needs.start) > 0
    bare = has_needs & (plan.window == NONE)
    if not bare.any():
        return plan.changed(windows=tuple(windows))
    windows.append(Window(FROM_DATA_DATE, [(minute, plan.horizon)] if minute < plan.horizon else []))
    return plan.changed(
        windows=tuple(windows),
        window=np.where(bare, len(windows) - 1, plan.window),
        expected=np.where(bare, 0, plan.expected),
    )


def _clipped(window: Window, minute: int) -> Window:
    shifts = np.asarray(window.shifts, dtype=np.int64).reshape(-1, 2)
    later = shifts[shifts[:, 1] > minute]
    return replace(window, shifts=np.maximum(later, minute))
