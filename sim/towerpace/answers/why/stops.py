"""Weather stops of one trial as the gangs met them: when, of what, and who stood."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from towerpace.answers.why.replay import PlayedTrial
from towerpace.engine.diary import NEVER
from towerpace.engine.openings import both, without
from towerpace.plan.lists import START
from towerpace.units import DAY_MIN, Ints

Span = tuple[int, int]
_COUNT = ("no front", "one front", "two fronts", "three fronts", "four fronts", "five fronts", "six fronts")


def stops_of(played: PlayedTrial) -> Iterator[tuple[int, str]]:
    """Day and words: wind stop 10:00-13:00, panels on two fronts.

    A stop counts where somebody stood: a step that could have started or gone on but for the weather.
    """
    plan = played.ready.tower.plan
    met: defaultdict[tuple[int, str], list[tuple[Span, tuple[str, str]]]] = defaultdict(list)
    for number, window in enumerate(plan.windows):
        if not window.limits and not len(window.stops):
            continue
        opening = played.openings[number]
        steps, spans = _standing(played, number)
        for cause, wide, narrow in zip(opening.causes, opening.layers, opening.layers[1:], strict=False):
            lost = without(wide, narrow)
            for step, span in zip(steps, spans, strict=True):
                tags = plan.tags(step)
                for first, last in both(span[None, :], lost).tolist():
                    where = f"{tags.level} {tags.zone}"
                    met[first // DAY_MIN, cause].append(((first, last), (tags.trade, where)))
    for (day, cause), stopped in met.items():
        yield day, _in_words(cause, stopped)


def _standing(played: PlayedTrial, window: int) -> tuple[list[int], Ints]:
    """Steps of a window, and the span in which nothing but the window held each, (k, 2). [min]"""
    plan, diary = played.ready.tower.plan, played.diary
    steps = np.flatnonzero((plan.window == window) & (diary.started != NEVER) & ~played.draw.skip)
    enabler = diary.enabler[steps]
    freed = np.where(enabler >= 0, diary.finished[np.maximum(enabler, 0)], 0)
    since = np.maximum(diary.ready[steps], freed)
    ended = diary.finished[steps]
    until = np.where(ended == NEVER, plan.horizon, ended)
    # What lifts on into bad weather is not stopped by it; only steps that pause are.
    until = np.where(plan.mode[steps] == START, diary.started[steps], until)
    return steps.tolist(), np.stack((since, until), axis=1).astype(np.int64)


def _in_words(cause: str, stopped: list[tuple[Span, tuple[str, str]]]) -> str:
    spans = sorted({span for span, _ in stopped})
    merged: list[list[int]] = []
    for first, last in spans:
        if merged and first <= merged[-1][1]:
            merged[-1][1] = max(merged[-1][1], last)
        else:
            merged.append([first, last])
    hours = ", ".join(f"{clock(first)}-{clock(last)}" for first, last in merged)
    fronts: dict[str, set[str]] = {}
    for _, (trade, where) in stopped:
        fronts.setdefault(trade, set()).add(where)
    who = ", ".join(f"{trade} on {_how_many(len(where))}" for trade, where in fronts.items())
    return f"{cause} stop{'s' if len(merged) > 1 else ''} {hours}, {who}"


def _how_many(fronts: int) -> str:
    return _COUNT[fronts] if fronts < len(_COUNT) else f"{fronts} fronts"


def clock(minute: int) -> str:
    """Time of the day.

    >>> clock(1440 + 7 * 60 + 5)
    '07:05'
    """
    return f"{minute % DAY_MIN // 60:02d}:{minute % 60:02d}"
