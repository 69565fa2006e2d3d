"""Steps said in words, by number."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from towerpace.plan.arrays import NONE
from towerpace.plan.columns import Handed, StepColumns, Units
from towerpace.plan.expand import Expansion
from towerpace.plan.parts import MODES, Pool, Tags, Window


def columns_of(expansion: Expansion, *, pools: Sequence[Pool], windows: Sequence[Window]) -> StepColumns:
    """Steps whose predecessors are plain names, by number; everything that they name is there."""
    steps = expansion.steps
    flags = list(dict.fromkeys(s.skip for s in steps if s.skip is not None))
    index, flag, window = _numbers(s.name for s in steps), _numbers(flags), _numbers(w.name for w in windows)
    columns = StepColumns(
        names=[s.name for s in steps],
        work=[s.work for s in steps],
        expected=[s.work if s.expected is None else s.expected for s in steps],
        date=[s.date for s in steps],
        rank=[s.rank for s in steps],
        window=[window[s.window] for s in steps],
        mode=[MODES.index(s.mode) for s in steps],
        flag=[flag[s.skip] for s in steps],
        panel=[NONE if s.tags.panel is None else s.tags.panel for s in steps],
        optional=[s.optional for s in steps],
        planned=[s.planned for s in steps],
        before=[[index[p] for p in s.after if isinstance(p, str)] for s in steps],
        flags=[*flags],
    )
    columns.place = [columns.place_number(s.place) for s in steps]
    columns.tag = [columns.tag_number(_without_panel(s.tags)) for s in steps]
    _take_and_give(columns, expansion, pool=_numbers(p.name for p in pools), index=index)
    return columns


def _numbers(names: Iterable[str]) -> dict[str | None, int]:
    """Each name with its place, and -1 for none."""
    return {None: NONE} | {name: k for k, name in enumerate(names)}


def _without_panel(tags: Tags) -> Tags:
    return tags if tags.panel is None else replace(tags, panel=None)


def _take_and_give(
    columns: StepColumns, expansion: Expansion, *, pool: dict[str | None, int], index: dict[str | None, int]
) -> None:
    """What every step takes, keeps and gives; what the user's step took, its first part took."""
    for step in expansion.steps:
        takers = [None if g.taker is None else expansion.first.get(g.taker, g.taker) for g in step.gives]
        gives = [
            Handed(Units((pool[give.pool],), (give.quantity,)), index[taker])
            for give, taker in zip(step.gives, takers, strict=True)
        ]
        needs = Units(tuple(pool[name] for name in step.needs), tuple(step.needs.values()))
        columns.take(needs, keeps=[pool[name] for name in step.keeps], gives=gives)
