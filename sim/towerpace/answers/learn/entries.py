"""Entries of a log as rows to learn from: what they say of the steps of a plan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from towerpace.answers.learn.minutes import Shown
from towerpace.plan.site.lifting import LIFT
from towerpace.plan.site.tower import Tower
from towerpace.record.log import SET, Entry, Log
from towerpace.record.step_index import StepIndex

_WORKED = ("", SET)  # what broke, did not fit or was left out took other minutes than setting


def rows_of(log: Log, tower: Tower, *, index: StepIndex | None = None) -> Iterator[Shown]:
    """The entries that are about the work of trades, in the order of the file.

    index : of the steps of the plan, if there is one.
    """
    index = index or StepIndex(tower.plan)
    for entry, panels in log.first_visits():
        if entry.place.what in tower.trades and entry.outcome in _WORKED:
            steps = _steps(entry, panels, index)
            if steps:
                yield _shown(entry, steps)


def _steps(entry: Entry, panels: Sequence[int], index: StepIndex) -> list[int]:
    """Of panels those that it names, else all of the front; of a gang its front.

    A front of several coats says nothing: the time between them is drying, of which nobody tells how long.
    """
    what, level, zone = entry.place
    lifts = index.of(what, level, zone, LIFT)
    if lifts:
        return [lifts[panel - 1] for panel in panels] or lifts
    coats = index.of(what, level, zone)
    return coats if len(coats) == 1 else []


def _shown(entry: Entry, steps: list[int]) -> Shown:
    start, finish = entry.start, entry.finish
    return Shown(
        steps,
        start.minute,
        None if finish is None else finish.latest,
        start_until=None if start.exact else start.latest,
        finish_from=None if finish is None or finish.exact else finish.minute,
    )
