"""A site that obeys the stated law, seen up to a data date, and trials that go on from there.

What has begun is pinned; handovers and weather before the data date are those of the site, later ones drawn.
"""

from dataclasses import fields, replace
from functools import partial

import numpy as np

from towerpace.answers.learn.from_sheet import learn_sheet, shares_done
from towerpace.answers.learn.minutes import Shown, SiteClock
from towerpace.answers.learn.site import learn_log, pace_law
from towerpace.answers.prepare import prepare
from towerpace.climate.hours import Hours
from towerpace.draws import Draw, stream
from towerpace.engine.fastest import run
from towerpace.plan.arrays import NONE
from towerpace.plan.chance import NOTHING_KNOWN, Known
from towerpace.plan.laws import Durations
from towerpace.plan.learned import LearnedPaces, front_numbers
from towerpace.plan.pins import Pins, resumed
from towerpace.scenario import load

DAY_MIN = 1440
LEVELS, ZONES = 12, ("north", "east", "south", "west")
WEEK = 'week = { mon = ["07:00-12:00", "12:30-17:00"], tue = ["07:00-12:00", "12:30-17:00"], wed = ["07:00-12:00", "12:30-17:00"], thu = ["07:00-12:00", "12:30-17:00"], fri = ["07:00-12:00", "12:30-17:00"] }'  # noqa: E501  one line of the file
TEXT = f"""\
[tower]
name = "Updated site"
start = 2027-03-01
horizon_days = 900
levels = "levels.csv"

[calendar.site]
{WEEK}

[weather]
record = "RECORD"
record_height_m = 10
utc_offset_h = -5
height_law = "en1991"
site_exposure = "III"
missing_gust_factor = 1.33
knots = true
generator = "blocks"
year_factor_sd = 0.04

[limit.lift]
wind_above_m_s = 11
kind = "gust"
restart_min = 15
source = "made for tests"

[structure]
slip_days = {{ low = -1, likely = 0, high = 4, shape = "pert" }}

[resource.fixers]
count = 2
[resource.setters]
count = 2
[resource.sealers]
count = 1
[resource.framers]
count = 2

[[correlation]]
trades = ["brackets", "cassettes", "seal"]
rho = 0.5
"""
TRADE = """
[trade.{name}]
kind = "gang"
column = "units"
unit_min = {{ low = {low}, likely = {likely}, high = {high}, shape = "pert" }}
pace = {{ low = 0.8, likely = 1.0, high = 1.5, shape = "pert" }}
needs = {{ {who} = 1 }}
calendar = "site"
{limits}after = [{after}]
"""
TRADES = (
    ("brackets", (15, 24, 50), "fixers", True, '{ on = "handover" }, { on = "brackets", levels_up = -1 }'),
    ("cassettes", (25, 40, 80), "setters", True, '{ on = "brackets" }, { on = "cassettes", levels_up = -1 }'),
    ("seal", (8, 14, 30), "sealers", True, '{ on = "cassettes" }, { on = "cassettes", levels_up = 1 }'),
    ("framing", (20, 35, 70), "framers", False, '{ on = "seal" }'),
)


def write_site(folder, *, record):
    """The scenario file. record : of the weather."""
    text = TEXT.replace("RECORD", record.as_posix())
    for name, (low, likely, high), who, outside, after in TRADES:
        limits = 'limits = ["lift"]\n' if outside else ""
        text += TRADE.format(
            name=name, low=low, likely=likely, high=high, who=who, limits=limits, after=after
        )
    rows = ["level,zone,height_m,difficulty,handover,units"]
    for level in range(LEVELS):
        day = np.datetime64("2027-03-01") + np.timedelta64(4 * level, "D")
        rows += [f"{level + 1},{zone},{4.0 * (level + 1)},1.0,{day},20" for zone in ZONES]
    (folder / "levels.csv").write_text("\n".join([*rows, ""]), encoding="utf-8")
    (folder / "scenario.toml").write_text(text, encoding="utf-8")
    return prepare(load(folder / "scenario.toml"))


class Seen:
    """A trial taken for the site, seen up to a minute.

    prepared : the scenario. seed, trial : the one that is the site. known : what decides its true paces.
    """

    def __init__(self, prepared, *, seed, trial, known=NOTHING_KNOWN):
        self.prepared, self.plan = prepared, prepared.tower.plan
        self.draw = replace(prepared.chooser, known=known).draw(seed, trial)
        self.diary = run(self.plan, self.draw)
        self._paced = [
            s for law in prepared.tower.laws if isinstance(law, Durations) for w in law.work for s in w.steps
        ]
        self._clock = SiteClock(self.plan, hours=self.draw.hours)

    def _elapsed(self, step, at):
        return self._clock.between(step, int(self.diary.started[step]), at)

    def rows(self, at):
        """The log: every front that has begun, to the minute."""
        begun = [int(s) for s in self._paced if 0 <= self.diary.started[s] < at]
        ends = [int(self.diary.finished[s]) for s in begun]
        return [
            Shown((s,), int(self.diary.started[s]), end if 0 <= end <= at else None)
            for s, end in zip(begun, ends, strict=True)
        ]

    def learned(self, at):
        """What the log teaches."""
        seen = learn_log(self.prepared.tower, self.rows(at), clock=self._clock, data_date=at)
        return Known(learned=seen.paces(self.prepared.tower))

    def counted(self, at, *, seed, trials):
        """What the sheet teaches: the shares that are done, on the site's weather and handovers."""
        tower = self.prepared.tower
        paces = [list(pace_law(tower).factors(partial(stream, seed, t)).values()) for t in range(trials)]
        draws = [self.prepared.chooser.draw(seed, t) for t in range(trials)]
        played = [shares_done(run(self.plan, self._on_site(draw, at)), at=at) for draw in draws]
        told = learn_sheet(tower, paces=np.array(paces), played=played, seen=shares_done(self.diary, at=at))
        return Known(learned=LearnedPaces(told, front_numbers(self.plan)))

    def finishes(self, at, known, *, seed, trials):
        """Finish of trials that go on from what was seen, (trials,). [min]"""
        plan = resumed(self.plan, at)
        return np.array(
            [run(plan, draw).finish for draw in self.continued(at, known, seed=seed, trials=trials)]
        )

    def continued(self, at, known, *, seed, trials):
        """Draws of trials that go on from what was seen, their past pinned."""
        chooser = replace(self.prepared.chooser, known=known)
        draws = [self._on_site(chooser.draw(seed, t), at) for t in range(trials)]
        started, finished = self.diary.started.astype(np.int64), self.diary.finished.astype(np.int64)
        begun = (started >= 0) & (started < at)
        ended = begun & (finished >= 0) & (finished <= at)
        left = np.full((trials, self.plan.n), NONE, dtype=np.int64)
        for step in np.flatnonzero(begun & ~ended).tolist():
            elapsed = self._elapsed(step, at)
            left[:, step] = _beyond(np.array([draw.work[step] for draw in draws]), elapsed) - elapsed
        seen = np.where(begun, started, NONE), np.where(ended, finished, NONE)
        return [
            replace(draw, pins=Pins(*seen, own, data_date_min=at))
            for draw, own in zip(draws, left, strict=True)
        ]

    def replayed(self, at, known, *, seed, trials):
        """The same without pins: the past follows from minutes, dates and weather, those of the site."""
        for draw in self.continued(at, known, seed=seed, trials=trials):
            pins, work = draw.pins, draw.work.copy()
            over, running = pins.ended != NONE, np.flatnonzero(pins.left != NONE)
            work[over] = self.draw.work[over]
            work[running] = [self._elapsed(step, at) + pins.left[step] for step in running.tolist()]
            yield replace(draw, work=work, pins=None)

    def _on_site(self, draw, at):
        """A draw with the weather and the handovers that the site has had."""
        steps, date = self.prepared.tower.handover, draw.date.copy()
        given = self.draw.date[steps] < at
        if given.any():
            last = steps[np.flatnonzero(given)[-1]]
            date[steps] = np.maximum(self.draw.date[last] + draw.date[steps] - draw.date[last], at)
        date[steps] = np.where(given, self.draw.date[steps], np.maximum(date[steps], at))
        hours = _joined(self.draw.hours, draw.hours, hour=at // 60)
        return Draw(draw.work, date, draw.skip, hours)


def _joined(before, after, *, hour):
    """The hours of one weather up to an hour, those of the other from it on."""
    pairs = [(getattr(before, field.name), getattr(after, field.name)) for field in fields(Hours)]
    return Hours(*(a if a is None else np.concatenate((a[:hour], b[hour:])) for a, b in pairs))


def _beyond(drawn, elapsed):
    """Minutes of a step that has gone on for so long: those of trials that are longer, in order of rank."""
    longer = np.sort(drawn[drawn > elapsed])
    if not len(longer):
        return np.full_like(drawn, int(1.05 * elapsed) + 1)
    u = (np.argsort(np.argsort(drawn, kind="stable"), kind="stable") + 0.5) / len(drawn)
    return longer[(u * len(longer)).astype(int)]


class Certain:
    """A pace without any doubt: what a site truly has. level : [-]"""

    def __init__(self, level):
        self._level = level

    def quantile(self, u):
        """The level, whatever the probability."""
        return np.full(np.shape(u), self._level)

    def scatter(self, u):
        """As stated."""
        return np.ones(np.shape(u))

    def front_sd(self, u):
        """None."""
        return np.zeros(np.shape(u))
