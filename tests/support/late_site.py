"""Small sites on which a level came late with all above it, and a trade was held; with their true days."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from support.line_site import LineTrade, write_line
from support.two_chains import EVENT_HEAD, LOG_HEAD, SHEET_HEAD, write_rows
from towerpace.answers.delay.played import SitePlayed, TrialsOf
from towerpace.answers.prepare import Prepared, prepare
from towerpace.answers.seen.acts import Held, held_plan
from towerpace.answers.seen.reading import Reading
from towerpace.engine.diary import Diary
from towerpace.engine.fastest import run
from towerpace.record.effects import Effects
from towerpace.record.events import EventReader
from towerpace.record.site_record import read_site_record
from towerpace.record.step_index import index_of
from towerpace.scenario import load
from towerpace.units import DAY_MIN

FLOORS, EVERY_D = 10, 2
LATE_LEVEL, DUE_D, LATE_D = 4, 6, 12
HELD_TRADE, HELD_D = "trade_2", (16, 22)  # from the first day to the midnight after the last
SEEN_D = 32
TRADES = (
    LineTrade({"x": 1}, (3500, 6000, 12000)),
    LineTrade({"y": 1}, (3500, 6000, 12000)),
    LineTrade({"z": 1}, (2000, 3200, 7000)),
)
START = date(2027, 1, 1)
A, B = "A", "B"


def write_late_site(folder: Path) -> Prepared:
    """The scenario as planned: a level every two days."""
    path = write_line(folder, trades=TRADES, counts={"x": 2, "y": 2, "z": 1}, floors=FLOORS)
    rows = [f"{n},all,{3 * n},1,{START + timedelta(EVERY_D * (n - 1))},1" for n in range(1, FLOORS + 1)]
    head = "level,zone,height_m,difficulty,handover,floors"
    (folder / "levels.csv").write_text("\n".join([head, *rows, ""]), encoding="utf-8")
    return prepare(load(path))


class LateSite:
    """A trial that is the truth. befell : which of the two events."""

    def __init__(self, ready: Prepared, *, seed: int, trial: int) -> None:
        self.ready, self.tower = ready, ready.tower
        self._draw, self._plan = ready.chooser.draw(seed, trial), ready.tower.plan

    def diary(self, befell: Collection[str]) -> Diary:
        """How it went, or would have gone."""
        date_min, plan = self._draw.date.copy(), self._plan
        if A in befell:
            date_min[self.tower.handover[LATE_LEVEL - 1 :]] += LATE_D * DAY_MIN
        if B in befell:
            steps = plan.by_tags(lambda tags: tags.trade == HELD_TRADE and tags.kind == "work")
            held = Held(np.flatnonzero(steps), *(day * DAY_MIN for day in HELD_D))
            plan = held_plan(plan, [held])
        return run(plan, replace(self._draw, date=date_min))

    def days(self, befell: Collection[str]) -> float:
        """Days to the finish. [d]"""
        finish = self.diary(befell).finish
        assert finish is not None, "far inside the horizon"
        return finish / DAY_MIN

    def played(self, folder: Path, *, trials: int, seed: int, log: bool = True) -> SitePlayed:
        """The site as its files tell of it. log : whether one is kept beside the weekly sheets."""
        paths = {"progress": write_rows(folder / "progress.csv", SHEET_HEAD, self._sheet())}
        if log:
            paths["log"] = write_rows(folder / "log.csv", LOG_HEAD, self._log())
        record = read_site_record(self.ready.scenario, self.tower, **paths)
        due, last = (START + timedelta(day) for day in (DUE_D, HELD_D[1] - 1))
        rows = [
            [A, "", "", "", due, due + timedelta(LATE_D), f'level."from {LATE_LEVEL}".handover', "", ""],
            [B, "", "", "", START + timedelta(HELD_D[0]), last, f"trade.{HELD_TRADE}", "", ""],
        ]
        path = write_rows(folder / "events.csv", EVENT_HEAD, rows)
        reader = EventReader(Effects.of(self.ready.scenario, record.words), record.start, record.at)
        events, faults = reader.read(path)
        assert not faults
        how = TrialsOf(trials, seed)
        return SitePlayed.seen_at(self.ready, record, reading=Reading(True, events, str(path)), how=how)

    def _log(self) -> list[list[object]]:
        """Every front and handover to the minute."""
        diary, until, rows = self.diary((A, B)), SEEN_D * DAY_MIN, []
        for place, step in self._places():
            begun, ended = int(diary.started[step]), int(diary.finished[step])
            if 0 <= begun < until:
                rows.append([*place, "", _moment(begun), _moment(ended) if 0 <= ended < until else ""])
        return rows

    def _sheet(self) -> list[list[object]]:
        """What is done at the end of every week, and of the data date."""
        diary, rows = self.diary((A, B)), []
        for day in (*range(6, SEEN_D - 1, 7), SEEN_D - 1):
            until = (day + 1) * DAY_MIN
            for place, step in self._places():
                begun, ended = int(diary.started[step]), int(diary.finished[step])
                if 0 <= begun < until:
                    share = 100 * (until - begun) // max(ended - begun, 1)
                    done = "all" if 0 <= ended <= until else f"{share}%"
                    rows.append([START + timedelta(day), *place, "yes" if place[0] == "handover" else done])
        return rows

    def _places(self) -> list[tuple[tuple[str, int, str], int]]:
        levels, index = self.tower.levels, index_of(self._plan)
        places = [
            (("handover", level, ""), int(s)) for level, s in zip(levels, self.tower.handover, strict=True)
        ]
        for trade in self.tower.trades:
            places += [((trade, level, "all"), index.of(trade, level, "all")[0]) for level in levels]
        return places


def _moment(minute: int) -> str:
    day, rest = divmod(minute, DAY_MIN)
    return f"{START + timedelta(day)}T{rest // 60:02d}:{rest % 60:02d}"
