"""The site diary of one trial: day by day what a site manager would have written down."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from towerpace.answers.why.replay import PlayedTrial
from towerpace.answers.why.stops import stops_of
from towerpace.engine.diary import NEVER
from towerpace.plan.site.lifting import CRANE_MOVE, LIFT
from towerpace.plan.site.tower import CLOSING_IN, HANDOVER
from towerpace.units import DAY_MIN

_COUNTED = {
    "unloading": "trucks unloaded",
    "turned away": "trucks turned away",
    "hoist trip": "crates up",
    "empty crate down": "empty crates down",
}
_UNSAID = (
    *("truck", "floor slots", "curing", "drying", "crane move", "unpacking", "factory", "lag"),
    *("time to failure", ""),
)


@dataclass(frozen=True)
class Day:
    """One day of the diary. number : 0 the first. said : what happened, in the order of a diary page."""

    number: int
    said: tuple[str, ...]

    def on(self, start: date) -> date:
        """Its date."""
        return start + timedelta(days=self.number)

    def text(self, start: date) -> str:
        """As one line: Tue 12 Oct 2027: ..."""
        day = self.on(start)
        return f"{day:%a} {day.day} {day:%b %Y}: {'; '.join(self.said)}"


def site_diary(played: PlayedTrial) -> list[Day]:
    """Every day up to the finish on which something happened, the first day first."""
    pages: defaultdict[int, list[str]] = defaultdict(list)
    for told in (_milestones, stops_of, _moves, _panels, _work, _counts):
        for day, said in told(played):
            pages[day].append(said)
    # Breakdowns are drawn up to the horizon; with the finish the diary is closed.
    finish = played.diary.finish
    last = max(pages, default=0) if finish is None else day_of(finish)
    return [Day(day, tuple(said)) for day, said in sorted(pages.items()) if day <= last]


def _ended(played: PlayedTrial) -> Iterator[tuple[int, int]]:
    """Steps that were done, with the day on which they ended, in the order in which they ended."""
    finished = played.diary.finished
    done = np.flatnonzero((finished != NEVER) & ~played.draw.skip)
    for step in done[np.argsort(finished[done], kind="stable")].tolist():
        yield step, day_of(int(finished[step]))


def day_of(minute: int) -> int:
    """Day on which a moment falls; its last midnight still belongs to a day."""
    return max(0, minute - 1) // DAY_MIN


def _milestones(played: PlayedTrial) -> Iterator[tuple[int, str]]:
    plan = played.ready.tower.plan
    for step, day in _ended(played):
        tags = plan.tags(step)
        if tags.trade == HANDOVER:
            # A level is handed over with the day that begins, not with the night before.
            yield int(played.diary.finished[step]) // DAY_MIN, f"L{tags.level} handed over"
        elif tags.trade == CLOSING_IN:
            yield day, f"L{tags.level} closed in"


def _moves(played: PlayedTrial) -> Iterator[tuple[int, str]]:
    plan = played.ready.tower.plan
    for step, day in _ended(played):
        tags = plan.tags(step)
        if tags.kind == CRANE_MOVE and plan.lists.needs[step]:  # moves on the front take nothing more
            yield day, f"floor crane ready for {tags.trade} L{tags.level} {tags.zone}".strip()


def _panels(played: PlayedTrial) -> Iterator[tuple[int, str]]:
    """Panels by their number on the front: panels L14 north set 3-7."""
    plan, numbers = played.ready.tower.plan, _panel_numbers(played)
    by_front: defaultdict[tuple[int, str], list[int]] = defaultdict(list)
    for step, day in _ended(played):
        if step in numbers:
            tags = plan.tags(step)
            front, number = f"{tags.trade} L{tags.level} {tags.zone}".strip(), numbers[step]
            by_front[day, front].append(number)
    for (day, front), numbers_set in by_front.items():
        yield day, f"{front} set {in_runs(numbers_set)}"


def _panel_numbers(played: PlayedTrial) -> dict[int, int]:
    """Number of every panel on its front, in planned order."""
    tower, count = played.ready.tower, defaultdict[tuple[object, ...], int](int)
    numbers = {}
    for step in tower.panels.tolist():
        tags = tower.plan.tags(step)
        front = (tags.trade, tags.level, tags.zone)
        count[front] += 1
        numbers[step] = count[front]
    return numbers


def in_runs(numbers: list[int]) -> str:
    """Numbers in words.

    >>> in_runs([3, 4, 5, 9])
    '3-5, 9'
    """
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


def _work(played: PlayedTrial) -> Iterator[tuple[int, str]]:
    """Begin and end of everything else that takes time: gangs on fronts, what happens once, stops."""
    plan, diary = played.ready.tower.plan, played.diary
    silent = {HANDOVER, CLOSING_IN}
    for step in np.flatnonzero((diary.started != NEVER) & ~played.draw.skip).tolist():
        tags, begun, done = plan.tags(step), int(diary.started[step]), int(diary.finished[step])
        if tags.kind in (*_UNSAID, *_COUNTED, LIFT) or tags.trade in silent or begun == done:
            continue
        first, last = begun // DAY_MIN, day_of(done)
        if done == NEVER or first != last:
            yield first, f"{plan.names[step]} begun"
        if done != NEVER:
            yield last, f"{plan.names[step]} done"


def _counts(played: PlayedTrial) -> Iterator[tuple[int, str]]:
    plan = played.ready.tower.plan
    counts: defaultdict[tuple[int, str], int] = defaultdict(int)
    for step, day in _ended(played):
        kind = plan.tags(step).kind
        if kind in _COUNTED:
            counts[day, kind] += 1
    for kind, words in _COUNTED.items():
        for (day, counted), count in counts.items():
            if counted == kind:
                yield day, f"{words}: {count}"
