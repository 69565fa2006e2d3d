"""Entries of a log as rows to learn from: what they say of the steps of a plan."""

from __future__ import annotations

from collections.abc import Iterator

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
    for entry in log.entries:
        if entry.place.what in tower.trades and entry.outcome in _WORKED:
            steps = _steps(entry, index)
            if steps:
                yield _shown(entry, steps)


def _steps(entry: Entry, index: StepIndex) -> list[int]:
    """Of panels those that it names, else all of the front; of a gang its coats."""
    place = entry.place
    steps = index.of(place.what, place.level, place.zone, LIFT) or index.of(
        place.what, place.level, place.zone
    )
    if not entry.panels:
        return steps
    return [steps[panel - 1] for panel in entry.panels if panel <= len(steps)]


def _shown(entry: Entry, steps: list[int]) -> Shown:
    start, finish = entry.start, entry.finish
    return Shown(
        steps,
        start.minute,
        None if finish is None else finish.latest,
        start_until=None if start.exact else start.latest,
        finish_from=None if finish is None or finish.exact else finish.minute,
    )
