"""Rigid steps: a step that a lag holds at its end starts late enough to run to its end without a pause.

That is how networks with generalised precedence are published. To start late is to know, before the step
starts, when another will end: with all minutes certain a forward pass tells it; where chance, windows or
pools decide, nobody on a site could.

Source: Elmaghraby & Kamburowski (1992), The analysis of activity networks under generalized precedence
relations, Management Science 38: 1245-1263 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from graphlib import CycleError, TopologicalSorter

from towerpace.plan.parts import After, PlanError, Pool, Step, Window

FORESIGHT = "a rigid start would need foresight of it"


def check_rigid(steps: Sequence[Step], *, pools: Sequence[Pool], windows: Sequence[Window]) -> None:
    """Refuse what a forward pass cannot foresee; raises `PlanError` with a sentence each."""
    faults = [f"rigid: the plan has the pool '{pool.name}': {FORESIGHT}" for pool in pools]
    faults += [f"rigid: the plan has the window '{window.name}': {FORESIGHT}" for window in windows]
    flags = dict.fromkeys(step.skip for step in steps if step.skip is not None)
    faults += [f"rigid: chance decides on '{flag}': {FORESIGHT}" for flag in flags]
    if faults:
        raise PlanError(faults)


def rigid_starts(steps: Sequence[Step]) -> list[Step]:
    """The same steps; those that would stretch have the date on which they start as rigid ones.

    Notes
    -----
    The forward pass, with d for the minutes of a step: its start is the latest of its date and, over what it
    comes after, of e_i + lag (FS), s_i + lag (SS), e_i + lag - d (FF) and s_i + lag - d (SF). Plans with a
    cycle come back as they are: their fault is told elsewhere.
    """
    by_name = {step.name: step for step in steps}
    try:
        order = list(TopologicalSorter({s.name: [p.step for p in _after(s)] for s in steps}).static_order())
    except CycleError:
        return list(steps)
    start: dict[str, int] = {}
    late: dict[str, int] = {}
    for name in order:
        step = by_name[name]
        early, rigid = (max(side, default=0) for side in zip(*_starts(step, start, by_name), strict=True))
        start[name] = max(early, rigid)
        if rigid > early:
            late[name] = rigid
    return [replace(step, date=late.get(step.name, step.date)) for step in steps]


def _after(step: Step) -> Iterator[After]:
    return (After(p) if isinstance(p, str) else p for p in step.after)


def _starts(step: Step, start: Mapping[str, int], by_name: Mapping[str, Step]) -> Iterator[tuple[int, int]]:
    """Starts that each link allows: of a step that may stretch, and of a rigid one. [min]"""
    yield step.date, step.date
    for link in _after(step):
        least = start[link.step] + link.lag + (by_name[link.step].work if link.kind[0] == "F" else 0)
        if link.kind[1] == "S":
            yield least, least
        else:
            yield 0, least - step.work
