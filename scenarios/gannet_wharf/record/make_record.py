"""Writes the record of a site that never was: sheets of three data dates, a log of two months, and its wind.

The site is one trial of Gannet Wharf under other truths than the scenario states, so that a reader can watch
a forecast find out: panel gangs a quarter slower than expected, seal pairs slower than the whole stated
range, level 9 handed over nine days late with all above it, and the structure stopping at level 20. What the
foreman would see of that trial is written down as he would write it. Everything is invented.

Run it from the root of the repository: `python scenarios/gannet_wharf/record/make_record.py`. The same
version of the program writes the same files.
"""

# %%
from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from pathlib import Path

import numpy as np

from towerpace import build, load, run
from towerpace.answers.learn.minutes import SiteClock
from towerpace.answers.prepare import Prepared
from towerpace.climate.foretold import wind_errors
from towerpace.draws import Draw, stream
from towerpace.plan.chance import NOTHING_KNOWN
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.site.paces import size_purpose
from towerpace.plan.site.risks import LateLevelLaw
from towerpace.record.moments import end_of, shown_minute
from towerpace.record.places_steps import steps_of
from towerpace.record.site_weather import at_height
from towerpace.record.step_index import index_of
from towerpace.record.words import HOLES, REMAKE, How, Place, Words
from towerpace.scenario import Scenario

HERE = Path(__file__).parent
TRUTH = {"trade.panels.pace": None, "trade.seal.pace": None, "risk[1].chance": 1.0, "risk[2].chance": 0.0}
PACES = {"panels": 1.25, "seal": 1.5}  # stated are 0.85 to 1.4 and 0.9 to 1.3
SEED, TRIAL = 2027, 0
LATE_LEVEL, LATE_MIN = 9, 9 * 1440
DATA_DATES = (date(2027, 6, 25), date(2027, 8, 27), date(2027, 10, 29))
LOG_FROM, LOG_TO = date(2027, 4, 26), date(2027, 6, 25)
CRANE_TOP_M = 165.0  # where the site's own anemometer stands
STOPS, STOPPED_LEVEL = "structure stops", 20
PROMISED_MIN, PROMISES_A_DATE = 42 * 1440, 12
OFFSETS_D = (2, 0, -2, 5, 1, -4, 3)
REASONS = ("handover late", "wind", "panels not there", "gang elsewhere")
FORETOLD_H = 168


# %%
class Site:
    """A trial that is the truth, and what can be seen of it.

    scenario, ready : what was planned. draw : the trial. of : its seed and number, which decide its losses.
    """

    def __init__(self, scenario: Scenario, ready: Prepared, draw: Draw, *, of: tuple[int, int]) -> None:
        self.scenario, self.tower, self.plan, self.draw = scenario, ready.tower, ready.tower.plan, draw
        self.words = Words.of(scenario, self.tower, index_of(self.plan))
        self.diary = run(self.plan, draw)
        self.clock = SiteClock(self.plan, hours=draw.hours)
        self._losses(*of)

    def _losses(self, seed: int, trial: int) -> None:
        """Lifts whose panels are rejected, broken while they are set, and that do not fit at once."""
        law = next(law for law in self.tower.laws if isinstance(law, LossLaw))
        losses = law.losses(partial(stream, seed, trial), NOTHING_KNOWN)
        masks = {"rejected": losses.unfit, "broken": losses.broken, "misfit": losses.misfit}
        self.fates = {fate: set(law.normal[mask].tolist()) for fate, mask in masks.items()}
        chains = {"rejected": law.unfit, "broken": law.broken}
        self.again = {
            int(law.normal[k]): int(row[row >= 0][-1])
            for fate, chain in chains.items()
            for k, row in enumerate(chain)
            if law.normal[k] in self.fates[fate] and (row >= 0).any()
        }

    def lost(self, place: Place, minute: int) -> list[int]:
        """Lifts of a front whose panels were found lost by a minute."""
        lifts = self.steps(Place("panels", place.level, place.zone))
        lost = self.fates["rejected"] | self.fates["broken"]
        return [step for step in lifts if step in lost and self.over(step, minute)]

    def over(self, step: int, minute: int) -> bool:
        """Whether a step has ended by a minute."""
        return 0 <= self.diary.finished[step] <= minute

    def share(self, step: int, minute: int) -> float:
        """Done share of a step, by the minutes worked at it. [-]"""
        begun, ended = int(self.diary.started[step]), int(self.diary.finished[step])
        if not 0 <= begun < minute:
            return 0.0
        if 0 <= ended <= minute:
            return 1.0
        worked = self.clock.between(step, begun, minute)
        return worked / max(self.clock.between(step, begun, ended), 1)

    def risk(self, name: str, minute: int) -> str:
        """What is said of a risk: of the stopped structure, once the level was due."""
        stopped = self.tower.handover[self.tower.levels.index(STOPPED_LEVEL)]
        return "yes" if name == STOPS and minute > self.plan.date[stopped] else ""

    def failed_tries(self, steps: list[int], minute: int) -> int:
        """Tries of the mock-up that failed: each is followed by a repair. steps : as in the plan."""
        repairs = np.sort(steps)[1:-1:2]
        begun = (self.diary.started[repairs] >= 0) & (self.diary.started[repairs] < minute)
        return int((begun & ~self.draw.skip[repairs]).sum())

    def steps(self, place: Place) -> list[int]:
        """Steps of a place in the order in which an amount counts them."""
        return steps_of(place, self.tower, index_of(self.plan))


def site_of_the_demo() -> Site:
    """One trial of the demo, with slower gangs and a late level."""
    scenario = load(HERE.parent / "scenario.toml", TRUTH)
    ready = build(scenario).ready
    draw, tower = ready.chooser.draw(SEED, TRIAL), ready.tower
    late = draw.date.copy()
    late[tower.handover[tower.levels.index(LATE_LEVEL) :]] += LATE_MIN
    paces = np.ones(tower.plan.n)
    for number, tags in enumerate(tower.plan.tag_table):
        if tags.kind in ("work", "lift"):
            paces[tower.plan.tag_of == number] = PACES.get(tags.trade, 1.0)
    slow = replace(draw, date=late, work=np.rint(draw.work * paces).astype(np.int64))
    return Site(scenario, ready, slow, of=(SEED, TRIAL))


# %%
def amount(site: Site, place: Place, minute: int) -> str:
    """What a foreman would write for a place, "" while there is nothing to write."""
    how, total = site.words.words[place.what].how, site.words.totals[place]
    if place.what in (HOLES, REMAKE):
        lost = site.lost(place, minute)
        still = [step for step in lost if step not in site.again or not site.over(site.again[step], minute)]
        return "" if not lost else str(len(still if place.what == HOLES else lost))
    steps = site.steps(place)
    if how is How.EVENT or not steps:
        return site.risk(place.what.removeprefix("risk "), minute) if how is How.EVENT else ""
    if how is How.TRIES:
        return "passed" if site.over(max(steps), minute) else str(site.failed_tries(steps, minute) or "")
    if how is How.TRUTH:
        return "yes" if all(site.over(step, minute) for step in steps) else ""
    done = sum(site.share(step, minute) for step in steps) / len(steps)
    if how is How.WHOLE:
        return str(sum(site.over(step, minute) for step in steps) or "")
    return "all" if done >= 1 else f"{int(done * total)}" if total > 1 and done else ""


def sheet_rows(site: Site, days: Iterable[date]) -> Iterator[list[object]]:
    """Every place when it first has something to tell, and again whenever that has changed."""
    last: dict[Place, str] = {}
    for day in days:
        minute = end_of(day, start=site.tower.start)
        for place in site.words.totals:
            said = amount(site, place, minute)
            if said != last.get(place, ""):
                last[place] = said
                yield [day, place.what, place.level, place.zone, said, None]


# %%
def log_rows(site: Site, first: date, last: date) -> Iterator[list[object]]:
    """What was begun on the days of the log, panel by panel; what is in progress has no finish."""
    since, until = (end_of(day, start=site.tower.start) for day in (first - timedelta(1), last))
    rows = []
    for place in site.words.totals:
        for piece, panel, outcome in _pieces(site, place, since):
            begun, ended = int(site.diary.started[piece[0]]), int(site.diary.finished[piece[-1]])
            if since <= begun < until:
                finish = ended if 0 <= ended < until else None
                rows.append((begun, finish, place, panel, outcome))
    yield from _with_units(site, sorted(rows, key=lambda row: (row[0], row[2], row[3] or 0)))


def _pieces(site: Site, place: Place, since: int) -> Iterator[tuple[list[int], int | None, str]]:
    """What a row of the log is about: the steps of a front, or a lift with its panel and outcome.

    since : first minute of the log; a panel lost before comes again on a visit that nobody would understand.
    """
    if place.what not in site.tower.trades:
        return
    steps = site.steps(place)
    if site.scenario.settings.trade[place.what].kind == "gang":
        yield steps, None, ""
        return
    for panel, lift in enumerate(steps, start=1):
        yield [lift], panel, next((fate for fate, lifts in site.fates.items() if lift in lifts), "set")
        if lift in site.again and site.diary.started[lift] >= since:
            yield [site.again[lift]], panel, "set"


def _with_units(site: Site, rows: Iterable[tuple]) -> Iterator[list[object]]:
    """Rows with the number of the gang: the first that was free, or that is on the front already."""
    free: dict[tuple[str, int], tuple[int, Place | None]] = {}
    start = site.tower.start
    for begun, finish, place, panel, outcome in rows:
        gang = next(
            n
            for n in range(1, 100)
            if free.get((place.what, n), (0, None))[0] <= begun or free[place.what, n][1] == place
        )
        free[place.what, gang] = (finish or 10**9, place)
        times = [
            shown_minute(begun, start=start),
            None if finish is None else shown_minute(finish, start=start),
        ]
        rest = [f"{place.what} {gang}", outcome, None]
        yield [place.what, place.level, place.zone, panel, *times, *rest]


# %%
def wind_rows(site: Site, last: date) -> Iterator[list[object]]:
    """Hours of the site's anemometer at the top of the crane, by the site's clock, to the end of a day."""
    hours, weather = site.draw.hours, site.scenario.settings.weather
    n = end_of(last, start=site.tower.start) // 60
    height_m = np.full(n, CRANE_TOP_M)
    speed, gust = (
        at_height(values[:n], quantity=quantity, height_m=height_m, weather=weather)
        for quantity, values in (("speed", hours.speed_m_s), ("gust", hours.gust_m_s))
    )
    for k in range(n):
        time = shown_minute(60 * k, start=site.tower.start)
        wind = f"{speed[k]:.1f}", f"{max(gust[k], speed[k]):.1f}"
        yield [time, *wind, f"{hours.temperature_c[k]:.1f}", f"{hours.rain_mm[k]:.1f}"]


# %%
def promise_rows(site: Site) -> Iterator[list[object]]:
    """What gangs said on each data date of the fronts that they would finish in the next weeks.

    They promise the day on which they will truly be done, or some days before or after it.
    """
    number, start = 0, site.tower.start
    for made in DATA_DATES:
        since = end_of(made, start=start)
        coming = [
            (int(site.diary.finished[site.steps(place)].max()), place)
            for place in site.words.totals
            if place.what in site.tower.trades and site.steps(place)
        ]
        coming = sorted((done, place) for done, place in coming if since < done <= since + PROMISED_MIN)
        for done, place in coming[:: max(1, len(coming) // PROMISES_A_DATE)]:
            true = start + timedelta((done - 1) // 1440)
            by = max(true + timedelta(OFFSETS_D[number % len(OFFSETS_D)]), made + timedelta(1))
            kept, decided = by >= true, by <= DATA_DATES[-1]
            reason = REASONS[number % len(REASONS)] if decided and not kept else None
            number += 1
            yield [number, made, *place, "all", by, f"{place.what} gangs", reason]


def foretold_rows(site: Site) -> Iterator[list[object]]:
    """A forecast of the week behind the last data date: the hours that came, with an error that grows."""
    hours, since = site.draw.hours, end_of(DATA_DATES[-1], start=site.tower.start) // 60
    factors = wind_errors(FORETOLD_H, rng=stream(SEED, TRIAL, "demo forecast"))
    issued = shown_minute(60 * since, start=site.tower.start)
    for k, factor in enumerate(factors.tolist()):
        wind = (factor * values[since + k] for values in (hours.speed_m_s, hours.gust_m_s))
        yield [shown_minute(60 * (since + k), start=site.tower.start), *(f"{x:.1f}" for x in wind), issued]


def event_rows(site: Site) -> Iterator[list[object]]:
    """What befell: the late level, the longest time that a hoist was out so far, the structure that stopped.

    What came late was due on the day on which this trial has it without its event.
    """
    size = next(law.size for law in site.tower.laws if isinstance(law, LateLevelLaw) and law.risk == STOPS)
    stopped_min = round(1440 * float(size.quantile(stream(SEED, TRIAL, size_purpose(STOPS)).random(1))[0]))
    until = end_of(DATA_DATES[1], start=site.tower.start)
    repairs = [
        (int(site.diary.finished[step] - site.diary.started[step]), step)
        for step, name in enumerate(site.plan.names)
        if name.startswith("hoist") and site.plan.tags(step).kind == "breakdown" and site.over(step, until)
    ]
    out = max(repairs)[1]
    minutes = (site.diary.started[out], site.diary.finished[out])
    days = [site.tower.start + timedelta(int(minute) // 1440) for minute in minutes]
    levels = (
        (LATE_LEVEL, LATE_MIN, "handed over late"),
        (STOPPED_LEVEL, stopped_min, "structure stopped below it"),
    )
    late = [_late_row(site, level, minutes, what) for level, minutes, what in levels]
    yield late[0]
    yield ["hoist", "a hoist broken down", None, None, *days, "resource.hoist", "hoist hirer", None]
    yield late[1]


def _late_row(site: Site, level: int, minutes: int, what: str) -> list[object]:
    came = int(site.diary.finished[site.tower.handover[site.tower.levels.index(level)]])
    days = [site.tower.start + timedelta(minute // 1440) for minute in (came - minutes, came)]
    key = f'level."from {level}".handover'
    return [f"level {level}", what, None, None, *days, key, "structure", None]


HEADS = {
    "progress": "date,what,level,zone,done,note",
    "log": "what,level,zone,panel,start,finish,unit,outcome,note",
    "wind": f"time,wind_speed_{CRANE_TOP_M:g}m_m_s,wind_gust_{CRANE_TOP_M:g}m_m_s,air_temp_degC,precip_mm",
    "promises": "id,made,what,level,zone,done,by,who,reason",
    "events": "id,what,level,zone,from,to,effect,owner,note",
    "forecast": "time,wind_speed_10m_m_s,wind_gust_10m_m_s,issued",
}


def write(folder: Path, name: str, rows: Iterable[list[object]]) -> Path:
    """One of the files of a record."""
    path = folder / f"{name}.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(HEADS[name].split(","))
        writer.writerows(rows)
    return path


# %%
if __name__ == "__main__":
    told = site_of_the_demo()
    write(HERE, "progress", sheet_rows(told, DATA_DATES))
    write(HERE, "log", log_rows(told, LOG_FROM, LOG_TO))
    write(HERE, "wind", wind_rows(told, DATA_DATES[-1]))
    write(HERE, "promises", promise_rows(told))
    write(HERE, "forecast", foretold_rows(told))
    write(HERE, "events", event_rows(told))
