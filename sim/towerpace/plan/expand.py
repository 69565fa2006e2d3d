"""Lags said with steps: each user's step becomes a take, a work and an end marker as far as needed.

FS lag: a step that only lets time pass. SS and SF lags start from the take of the predecessor, which
lasts no time and carries the expected work. FF and SF lags hold the end marker of the successor, which
gives the pools back: the step stretches, its finish is as published, its start may be earlier. An SS or SF
lag that leaves such a stretched step counts from that earlier start: starting later would need foresight.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from towerpace.plan.parts import After, Give, Step, Tags


@dataclass(frozen=True)
class Expansion:
    """Steps with plain finish-to-start predecessors only.

    first, last : the step that starts, and the one that ends, what the user said as one; only where it is
        another than the user's own.
    """

    steps: Sequence[Step]
    first: Mapping[str, str]
    last: Mapping[str, str]


def expand(steps: Sequence[Step]) -> Expansion:
    """Write out the lags of a plan as steps of their own."""
    lagged = [(step, p) for step in steps for p in step.after if not isinstance(p, str)]
    if not lagged:
        return Expansion([_without_repeats(step) for step in steps], {}, {})
    first = {p.step: _take(p.step) for _, p in lagged if p.kind in ("SS", "SF")}
    last = {step.name: _end(step.name) for step, p in lagged if p.kind in ("FF", "SF")}
    parts: list[Step] = []
    lags: dict[str, Step] = {}
    for step in steps:
        starts, ends = _predecessors(step, first=first, last=last, lags=lags)
        parts += _written_out(
            step, starts=starts, ends=ends, marker=step.name in last, split=step.name in first
        )
    return Expansion((*parts, *lags.values()), first, last)


def _without_repeats(step: Step) -> Step:
    once = dict.fromkeys(step.after) if len(step.after) > 1 else step.after
    return step if len(once) == len(step.after) else replace(step, after=list(once))


def _take(name: str) -> str:
    return f"{name} (take)"


def _end(name: str) -> str:
    return f"{name} (end)"


def _predecessors(
    step: Step, *, first: Mapping[str, str], last: Mapping[str, str], lags: dict[str, Step]
) -> tuple[list[str], list[str]]:
    """Names that hold the start of a step, and names that hold its end."""
    starts: list[str] = []
    ends: list[str] = []
    for p in step.after:
        named = After(p) if isinstance(p, str) else p
        source = (first if named.kind in ("SS", "SF") else last).get(named.step, named.step)
        if named.lag:
            source = _lag_step(source, named, lags, tags=step.tags)
        (starts if named.kind in ("FS", "SS") else ends).append(source)
    return list(dict.fromkeys(starts)), list(dict.fromkeys(ends))


def _lag_step(source: str, after: After, lags: dict[str, Step], *, tags: Tags) -> str:
    name = f"{after.lag} min after {source}"
    tags = Tags(trade=tags.trade, level=tags.level, zone=tags.zone, kind="curing")
    lags.setdefault(name, Step(name, work=after.lag, after=[source], tags=tags))
    return name


def _written_out(step: Step, *, starts: list[str], ends: list[str], marker: bool, split: bool) -> list[Step]:
    """One user's step as one to three steps; the pools are taken by the first, given by the last."""
    if not (split or marker) and starts == list(step.after):
        return [step]
    parts = [replace(step, after=starts)]
    if split:
        expected = step.work if step.expected is None else step.expected
        take = replace(step, name=_take(step.name), work=0, expected=expected, after=starts)
        gives = [*_own_gives(step, taker=take.name), *step.gives]
        body = replace(step, after=[take.name], needs={}, keeps=(), date=0, expected=None, gives=gives)
        runs_on = step.mode == "start"  # the take has found the window open and wide enough
        parts = [
            replace(take, keeps=tuple(step.needs), gives=()),
            replace(body, mode="always", window=None) if runs_on else body,
        ]
    if marker:
        body = parts[-1]
        gives = list(body.gives) if split else [*_own_gives(step, taker=step.name), *step.gives]
        parts[-1] = replace(body, gives=(), keeps=tuple(body.needs))
        end = Step(_end(step.name), after=[body.name, *ends], gives=gives, rank=step.rank, tags=step.tags)
        parts.append(
            replace(end, skip=step.skip, planned=step.planned, place=step.place, optional=step.optional)
        )
    return parts


def _own_gives(step: Step, *, taker: str) -> list[Give]:
    return [Give(pool, n, taker) for pool, n in step.needs.items() if pool not in step.keeps]
