"""One trial as the page plays it: its steps by column, who served them, why they waited, and the wind."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from towerpace.answers.ledger.book import Ledger
from towerpace.answers.prepare import Prepared
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.served import served
from towerpace.plan.site.absences import TIME_TO_FAILURE
from towerpace.plan.site.tower import CLOSING_IN, HANDOVER
from towerpace.scenario.schema import Settings
from towerpace.units import HOUR_MIN, Ints
from towerpace.workbench.causes import page_cause

Json = dict[str, Any]
# What nobody sees: crates that have a place, panels in the making, repairs that are not due.
_UNSEEN = ("floor slots", "factory", "remake", "holes closed", TIME_TO_FAILURE)


def watched(ready: Prepared, draw: Draw, diary: Diary, *, trial: int) -> Json:
    """A trial for people to watch; minutes are of the site's clock, from the first midnight."""
    told = _Watched(ready, draw, diary)
    finish = diary.finish
    return {
        "trial": trial,
        "finish": None if finish is None else ready.days.date_of(finish).isoformat(),
        "start": 0,
        "end": finish,
        "day0": ready.tower.start.isoformat(),
        "cranes": told.machines,
        "names": told.words.said,
        "steps": {"columns": told.columns()},
        "wind": told.wind(),
        "limits": told.limits(),
    }


class _Words:
    """Words that stand once; their places stand for them."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self._place: dict[str, int] = {}

    def place(self, word: str | None) -> int | None:
        if not word:
            return None
        if word not in self._place:
            self._place[word] = len(self.said)
            self.said.append(word)
        return self._place[word]

    def places(self, words: Iterable[str | None]) -> list[int | None]:
        return [self.place(word) for word in words]


class _Watched:
    """What is told of one trial."""

    def __init__(self, ready: Prepared, draw: Draw, diary: Diary) -> None:
        self._ready, self._draw, self._diary = ready, draw, diary
        self._plan, self._settings = ready.tower.plan, ready.scenario.settings
        self.words = _Words()
        resources = machines_of(self._settings)
        counts = self._settings.resource
        self.machines = [_unit(name, k) for name in resources for k in range(counts[name].count)]
        self._steps = self._seen()

    def _seen(self) -> Ints:
        """Steps that are shown, in the order in which they began."""
        diary, plan = self._diary, self._plan
        shown = plan.by_tags(lambda t: int(t.kind not in _UNSEEN)) == 1
        lasts = diary.finished > diary.started
        marks = plan.by_tags(lambda t: int(t.trade in (HANDOVER, CLOSING_IN))) == 1
        ends = diary.finish if diary.finish is not None else plan.horizon
        was = (
            (diary.started != NEVER) & (diary.finished != NEVER) & ~self._draw.skip & (diary.started <= ends)
        )
        steps = np.flatnonzero(was & shown & (lasts | marks))
        return steps[np.argsort(diary.started[steps], kind="stable")]

    def columns(self) -> dict[str, list[int | None]]:
        """Steps by column; words by their places in `words`."""
        diary, tags = self._diary, [self._plan.tags(step) for step in self._steps.tolist()]
        kinds = [t.kind if t.trade not in (HANDOVER, CLOSING_IN) else t.trade for t in tags]
        return {
            "kind": self.words.places(_kind(kind) for kind in kinds),
            "trade": self.words.places(t.trade for t in tags),
            "level": [t.level for t in tags],
            "zone": self.words.places(t.zone for t in tags),
            "start": diary.started[self._steps].tolist(),
            "end": diary.finished[self._steps].tolist(),
            "ready": diary.ready[self._steps].tolist(),
            "panel": [t.panel for t in tags],
            "unit": self._units(),
            "cause": self._causes(),
        }

    def _units(self) -> list[int | None]:
        """The crane or hoist that served each step; with several the one that comes first in the scenario."""
        rows = served(self._diary, self._draw)
        pools, wanted = self._plan.pools.names, machines_of(self._settings)
        unit_of: dict[int, str] = {}
        for step, pool, unit in zip(rows.step.tolist(), rows.pool.tolist(), rows.unit.tolist(), strict=True):
            if pools[pool] in wanted and unit >= 0:
                unit_of.setdefault(step, _unit(pools[pool], unit))
        return self.words.places(unit_of.get(step) for step in self._steps.tolist())

    def _causes(self) -> list[int | None]:
        """What each step waited for longest once it was ready, but nights and closed days."""
        book = Ledger(self._ready.tower)
        _, minutes = book.of(self._draw, self._diary)
        groups = [page_cause(cause, self._settings) for cause in book.causes]
        rows = [k for k in range(len(minutes.waiting)) if groups[k] is not None]
        waited = minutes.waiting[rows][:, self._steps]
        longest = waited.argmax(axis=0)
        words = [
            groups[rows[k]] if spent > 0 else None
            for k, spent in zip(longest.tolist(), waited.max(axis=0).tolist(), strict=True)
        ]
        return self.words.places(words)

    def wind(self) -> Json | None:
        """Gust of each hour at the greatest height that a limit looks at [m/s]; None without weather."""
        hours = self._draw.hours
        if hours is None:
            return None
        end_h = -(-(self._diary.finish or self._plan.horizon) // HOUR_MIN)
        gusts = np.round(np.asarray(hours.gust_m_s)[:end_h] * self._ratio(), 1)
        return {"first_minute": 0, "gusts": gusts.tolist()}

    def _ratio(self) -> float:
        limits = [limit for window in self._plan.windows for limit in window.limits]
        return max((limit.ratio for limit in limits if limit.variable == "gust"), default=1.0)

    def limits(self) -> list[Json]:
        """Wind limits, each as a gust: of means, the gust that goes with them."""
        weather, said = self._settings.weather, []
        for name, limit in self._settings.limit.items():
            if limit.wind_above_m_s is not None:
                factor = (
                    1.0 if limit.kind == "gust" or weather is None else float(weather.missing_gust_factor)
                )
                said.append({"name": name, "ms": round(float(limit.wind_above_m_s) * factor, 2)})
        return said


def machines_of(settings: Settings) -> list[str]:
    """Resources that are drawn at their places: floor cranes, hoists, and what other ways of lifting take."""
    tables = [table for table in (settings.crane, settings.hoist) if table is not None]
    methods = [name for method in settings.method.values() for name in method.needs]
    return list(dict.fromkeys([*(table.resource for table in tables), *methods]))


def _kind(kind: str) -> str:
    return {HANDOVER: "handover", CLOSING_IN: "closing-in"}.get(kind, kind)


def _unit(name: str, number: int) -> str:
    return f"{name} {number + 1}"
