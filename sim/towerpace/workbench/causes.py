"""Causes of waiting in the few groups that the page colours, each with a letter of its own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from towerpace.answers.ledger import groups
from towerpace.answers.ledger.groups import group_name, topic
from towerpace.answers.ledger.waits import MOVE, WORK
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import Settings
from towerpace.units import Floats
from towerpace.workbench.messages import Hours

WIND, WEATHER, HOIST, CRANE, GANG = "wind", "other weather", "hoist", "crane", "gang"
PANELS, STRUCTURE, OTHERS, CURING, SHIFT_END = "panels", "structure", "other trades", "curing", "end of shift"
LETTERS = {
    WIND: "W",
    WEATHER: "R",
    HOIST: "H",
    CRANE: "C",
    GANG: "G",
    PANELS: "P",
    STRUCTURE: "S",
    OTHERS: "T",
    CURING: "D",
    SHIFT_END: "E",
}
_LABELS = {
    WEATHER: "rain, cold and other weather",
    GANG: "gang or place busy",
    PANELS: "panels and room for them",
    OTHERS: "other trades or levels",
    CURING: "curing, lags and delays",
    SHIFT_END: "too little shift left",
}
_BY_TOPIC = {
    "wind": WIND,
    groups.OTHER_WEATHER: WEATHER,
    groups.TOO_LATE: SHIFT_END,
    groups.TRUCK: PANELS,
    groups.ROOM: PANELS,
    "remade panels": PANELS,
    "return visits": PANELS,
    groups.UNLOADING: HOIST,
    "mast extension": HOIST,
    groups.CRANE_MOVES: CRANE,
    "structure": STRUCTURE,
    groups.CURING: CURING,
    "by the clock": CURING,
    "breakdowns": GANG,
    groups.BEGUN_AGAIN: WEATHER,
}
HOUR_MIN = 60.0


def causes_json() -> list[dict[str, str]]:
    """The groups as the page lists them."""
    return [{"name": k, "letter": letter, "label": _LABELS.get(k, k)} for k, letter in LETTERS.items()]


def page_cause(cause: str, settings: Settings) -> str | None:
    """The group of a cause of the ledger; None of work, and of the hours outside the shift."""
    if cause == WORK or group_name(cause) is None:
        return None
    if cause == MOVE:
        return CRANE
    waited_for = cause.removeprefix("waiting for ")
    if settings.hoist is not None and waited_for == settings.hoist.resource:
        return HOIST
    if settings.crane is not None and waited_for == settings.crane.resource:
        return CRANE
    if group_name(cause) == groups.BUSY:
        return GANG
    return _BY_TOPIC.get(topic(cause) or "", OTHERS)


@dataclass(frozen=True)
class LevelHours:
    """Mean hours of a trial by level and group, (n_levels, n_groups), of all trades and of one alone. [h]"""

    every: Floats
    enclosing: Floats

    def front(self, floor: int) -> tuple[str | None, float]:
        """What the enclosing trade waited for longest on a level, and how long [h]."""
        own = self.enclosing[floor]
        k = int(own.argmax())
        return (list(LETTERS)[k], round(float(own[k]), 1)) if own[k] > 0 else (None, 0.0)


def level_hours(hours: Hours, scenario: Scenario, *, enclosing: str) -> LevelHours:
    """Hours by level and group of the page."""
    place = {name: k for k, name in enumerate(LETTERS)}
    by_level = hours.minutes / (HOUR_MIN * hours.trials)
    rows = np.zeros((*by_level.shape[:2], len(place)))
    for k, cause in enumerate(hours.causes):
        group = page_cause(cause, scenario.settings)
        if group is not None:
            rows[:, :, place[group]] += by_level[:, :, k]
    return LevelHours(rows.sum(axis=0), rows[hours.rows.index(enclosing)])


def ledger_json(own: LevelHours, file: LevelHours, levels: tuple[int, ...]) -> Iterator[dict[str, Any]]:
    """Rows of the ledger that are not empty, level by level."""
    for floor, level in enumerate(levels):
        for k, cause in enumerate(LETTERS):
            now, then = float(own.every[floor, k]), float(file.every[floor, k])
            if now or then:
                hours = {"hours": round(now, 2), "file_hours": round(then, 2)}
                yield {"level": level, "cause": cause, **hours}
