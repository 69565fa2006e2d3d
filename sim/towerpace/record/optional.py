"""Steps that never hold the finish: those that were due by the data date, and are not reported, are over.

Left alone, every unreported mast extension and absence of the past would fall due at the data date. Failures
are drawn, so their law knows by itself what is past.
"""

from __future__ import annotations

import numpy as np

from towerpace.plan.model import Plan
from towerpace.record.filling import Filled
from towerpace.record.told import State
from towerpace.units import Ints

FACTORY = "factory"
_DRAWN = ("time to failure", "breakdown", "turned away")


def end_optional(filled: Filled, plan: Plan, *, until: int) -> None:
    """Call over, without any length, what is optional, silent and due: its date past, what precedes it done.

    until : first minute after the data date. [min]
    """
    told, before = filled.told, plan.lists.before
    kinds = plan.by_tags(lambda tags: tags.kind in _DRAWN)
    for step in np.flatnonzero(plan.optional & (kinds == 0)).tolist():  # predecessors have smaller numbers
        due = int(plan.date[step]) < until and all(told.state[p] == State.DONE for p in before[step])
        if told.state[step] == State.SILENT and due:
            told.state[step] = State.DONE
            told.instant.add(step)
            filled.cause[step] = filled.cause.get(before[step][0], step) if before[step] else step
    filled.put_in_order(plan)


def make_as_planned(filled: Filled, plan: Plan, *, until: int, finished: Ints) -> None:
    """Call made what a factory would have made by now if all went as planned, and nobody speaks of it.

    It works on whatever the site does, once what it waits for is done; taken to begin at the data date, all
    its lead would be lost. finished : when each step ends as planned, (n,); -1 for never. [min]
    """
    told, before = filled.told, plan.lists.before
    made = plan.by_tags(lambda tags: tags.kind == FACTORY) == 1
    for step in np.flatnonzero(made & (finished >= 0) & (finished < until)).tolist():
        if told.state[step] == State.SILENT and all(told.state[p] == State.DONE for p in before[step]):
            told.state[step] = State.DONE
            filled.cause[step] = before[step][0] if before[step] else step
    filled.put_in_order(plan)
