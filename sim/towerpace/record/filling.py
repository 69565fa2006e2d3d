"""Explicit beats silent: what must have happened for the reports to be true, and what they contradict.

An unreported predecessor of what is reported is filled in as done. A predecessor that is reported as not
finished keeps its state: its link is let go, as the site worked out of sequence.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from towerpace.faults import Fault
from towerpace.plan.arrays import NONE
from towerpace.plan.model import Plan
from towerpace.plan.parts import Tags
from towerpace.record.told import Source, State, Told

UNNAMED = "what belongs to no trade"


@dataclass
class Filled:
    """What is known of every step once the silence is filled.

    order : pinned steps, predecessors first. cause : step whose report made each one known; itself if told.
    let_go : predecessor and successor of every link that the site did not keep.
    """

    told: Told
    order: list[int]
    cause: dict[int, int]
    let_go: set[tuple[int, int]] = field(default_factory=set)

    @property
    def state(self) -> list[int]:
        """State of every step."""
        return self.told.state

    def source(self, step: int) -> Source | None:
        """The row from which a step is known."""
        return self.told.source[self.cause.get(step, step)]

    def put_in_order(self, plan: Plan) -> None:
        """Find the order anew, when more steps are known."""
        order = plan.order
        self.order = order[np.array(self.state, dtype=np.int64)[order] >= State.BEGUN].tolist()

    def counts(self, plan: Plan) -> dict[str, int]:
        """How many planned steps were filled in, by trade, the most first."""
        names = Counter(
            trade_said(plan.tags(step))
            for step, cause in self.cause.items()
            if cause != step and plan.planned[step]
        )
        return dict(names.most_common())


def fill(told: Told, plan: Plan) -> Filled:
    """Fill the silence before everything that is reported done or begun; the order is left to be found."""
    before, state = plan.lists.before, told.state
    cause = {step: step for step, known in enumerate(state) if known >= State.BEGUN}
    waiting, let_go = list(cause), set()
    for step in waiting:  # it grows as predecessors are filled in
        for previous in before[step]:
            if state[previous] == State.SILENT:
                state[previous] = State.DONE
                cause[previous] = cause[step]
                waiting.append(previous)
            elif previous in told.yields:
                state[previous] = State.DONE
            elif state[previous] != State.DONE:
                let_go.add((previous, step))
    return Filled(told, [], cause, let_go)


def hold_faults(filled: Filled, plan: Plan) -> Iterator[Fault]:
    """Units given back that were never taken: no site can have done that, so one of the rows is wrong."""
    state, gives, told = filled.state, plan.lists.gives, set[tuple[Source | None, Source | None]]()
    for step in filled.order:
        if state[step] != State.DONE:
            continue
        for pool, _, taker in gives[step]:
            if taker == NONE or state[taker] >= State.BEGUN or not plan.planned[step]:
                continue
            ours, theirs = filled.source(step), filled.source(taker)
            if ours is not None and (ours, theirs) not in told:
                told.add((ours, theirs))
                found = f"{where_said(plan.tags(step))} done, which gives back {plan.pools.names[pool]}"
                against = "" if theirs is None else f"; {theirs.said} says it is not"
                allowed = f"only what was taken: {where_said(plan.tags(taker))} first{against}"
                yield Fault(ours.file, ours.line, "done", found, allowed)


def trade_said(tags: Tags) -> str:
    """The trade or kind under which a step is counted for people."""
    return tags.trade or tags.kind or UNNAMED


def where_said(tags: Tags) -> str:
    """A kind of step and its place, as people say it.

    >>> where_said(Tags(trade="hoisting", level=3, zone="north", kind="hoist trip"))
    'hoist trip L3 north'
    """
    name = tags.trade if tags.kind in ("work", "lift", "crane move") and tags.trade else tags.kind
    where = "" if tags.level is None else f" L{tags.level}" + (f" {tags.zone}" if tags.zone else "")
    return f"{name}{where}"
