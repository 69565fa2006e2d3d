"""More work in progress than there are gangs or cranes: kept, and told with the key to change."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.model import Plan
from towerpace.record.filling import Filled, where_said
from towerpace.record.log import Remark
from towerpace.record.told import State

_FRONTS_NAMED = 6


def overdrafts(filled: Filled, plan: Plan, *, file: str) -> Iterator[Remark]:
    """Resources of which more is taken at the data date than there is.

    file : of the sheet, to which remarks without a line belong.
    """
    taken = _taken(filled, plan)
    for pool, steps in sorted(taken.items()):
        units, there = sum(steps.values()), int(plan.pools.units[pool])
        if units <= there or plan.pools.kinds[pool] != "resource":
            continue
        name = plan.pools.names[pool]
        fronts = list(dict.fromkeys(where_said(plan.tags(step)) for step in steps))
        rows = [row for step in steps if (row := filled.source(step)) is not None]
        lines = sorted({row.line for row in rows if row.file == file})
        more = f" and {len(fronts) - _FRONTS_NAMED} more" if len(fronts) > _FRONTS_NAMED else ""
        where = ", ".join(fronts[:_FRONTS_NAMED]) + more
        text = (
            f"{where} go on at once: {units} of {name}, the scenario has {there}; if the site has more, "
            f"raise resource.{name}.count"
        )
        yield Remark(file, tuple(lines[:_FRONTS_NAMED]), text)


def _taken(filled: Filled, plan: Plan) -> dict[int, dict[int, int]]:
    """What is taken and not given back: by pool, the steps that took it and how many units."""
    lists = plan.lists
    taken: dict[int, dict[int, int]] = defaultdict(dict)
    for step in filled.order:
        for pool, units in lists.needs[step]:
            taken[pool][step] = units
    for step in _over(filled, plan):
        for pool, units, taker in lists.gives[step]:
            if taker != NONE and taker in taken[pool]:
                taken[pool][taker] -= units
    return {pool: {step: n for step, n in steps.items() if n > 0} for pool, steps in taken.items()}


def _over(filled: Filled, plan: Plan) -> list[int]:
    """Steps that are done, and those that pass by themselves behind them: certain, without time or needs.

    Remedies of which nobody speaks are passed over, as in nearly every trial.
    """
    before, after, state = plan.lists.before, plan.lists.after, filled.state
    passes = ~plan.planned | ((plan.work == 0) & (np.diff(plan.needs.start) == 0) & (plan.window == NONE))
    over = [step for step in filled.order if state[step] == State.DONE]
    passed = set(over)
    for step in over:  # it grows as steps are passed
        for later in after[step]:
            silent = state[later] == State.SILENT and later not in passed and passes[later]
            if silent and passed.issuperset(before[later]):
                passed.add(later)
                over.append(later)
    return over
