"""A small site for tests by hand: three levels, one or two zones, eight hours a day from Monday to Friday.

Every duration is certain unless a test makes it uncertain. The first day, 2027-03-01, is a Monday.
"""

from dataclasses import dataclass
from pathlib import Path

from support.plain_book import clocks
from towerpace.answers.ledger.book import Ledger
from towerpace.answers.prepare import Prepared, prepare
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.engine.reference import run
from towerpace.scenario import load

DAY = 1440
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

BASE = """\
[tower]
name = "Small Site"
start = 2027-03-01
horizon_days = 300
levels = "levels.csv"

[calendar.site]
week.mon = ["08:00-16:00"]
week.tue = ["08:00-16:00"]
week.wed = ["08:00-16:00"]
week.thu = ["08:00-16:00"]
week.fri = ["08:00-16:00"]

[structure]
slip_days = 0

[resource.gang]
count = 1
[resource.tower_crane]
count = 1

[trade.brackets]
kind = "gang"
column = "brackets"
unit_min = 6
needs = { gang = 1 }
calendar = "site"
after = [{ on = "handover" }]
"""

# Ten brackets of six minutes a front: an hour.
LEVELS = """\
level,zone,height_m,difficulty,handover,brackets,flat,curved
1,north,4.0,1.0,2027-03-01,10,12,3
2,north,8.0,1.0,2027-03-01,10,12,3
3,north,12.0,1.0,2027-03-01,10,0,0
"""

TWO_ZONES = """\
level,zone,height_m,difficulty,handover,brackets,flat,curved
1,north,4.0,1.0,2027-03-01,10,12,3
1,south,4.0,1.0,2027-03-01,10,12,3
2,north,8.0,1.0,2027-03-01,10,12,3
2,south,8.0,1.0,2027-03-01,10,12,3
"""


@dataclass(frozen=True)
class Played:
    """One trial of a small site."""

    ready: Prepared
    draw: Draw
    openings: Openings
    diary: Diary

    def span(self, step: str) -> tuple[int, int]:
        """Start and end of a step. [min]"""
        return self.diary.started_at(step), self.diary.finished_at(step)

    def work(self, step: str) -> int:
        """Drawn minutes of a step. [min]"""
        return int(self.draw.work[self.ready.tower.plan.index[step]])

    def book(self) -> dict[str, dict[str, int]]:
        """The ledger by row and cause, without zeros. [min]"""
        ledger = Ledger(self.ready.tower)
        rows = ledger.of(self.draw, self.diary)[0].sum(axis=1)
        return {
            row: {cause: m for cause, m in zip(ledger.causes, minutes.tolist(), strict=True) if m}
            for row, minutes in zip(ledger.rows, rows, strict=True)
        }

    def adds_up(self) -> bool:
        """Whether the causes of the ledger add up to the minutes its clocks ran, by row and level."""
        ledger = Ledger(self.ready.tower)
        book, _ = ledger.of(self.draw, self.diary)
        return bool((book.sum(axis=2) == clocks(ledger, self.diary)).all())


def written(folder: Path, *more: str, base: str = BASE, levels: str = LEVELS) -> Path:
    """The scenario file of a small site with more tables."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "levels.csv").write_text(levels, encoding="utf-8")
    path = folder / "scenario.toml"
    path.write_text("\n".join((base, *more)), encoding="utf-8")
    return path


def made(folder: Path, *more: str, base: str = BASE, levels: str = LEVELS) -> Prepared:
    """A small site with more tables, ready for trials."""
    return prepare(load(written(folder, *more, base=base, levels=levels)))


def played(ready: Prepared, *, seed: int = 1, trial: int = 0) -> Played:
    """One trial."""
    draw, plan = ready.chooser.draw(seed, trial), ready.tower.plan
    openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
    return Played(ready, draw, openings, run(plan, draw, openings=openings))


def at(day: int, clock: str) -> int:
    """Minute of a time of day, day 0 the first. [min]"""
    hours, minutes = clock.split(":")
    return day * DAY + 60 * int(hours) + int(minutes)
