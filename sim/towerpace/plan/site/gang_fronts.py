"""Trades of a gang that works through its fronts, coat by coat with drying between, and the water test.

Between coats time passes night and day, more slowly in the cold months, and not in forbidden weather. The
cold months are those of the day on which the coat dries, so a trial that is late dries later in the year.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from itertools import groupby

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.columns import Units, Words
from towerpace.plan.lists import ALWAYS, WORK
from towerpace.plan.site.drafting import Draft, DrawnMinutes, Uncertain
from towerpace.plan.site.fronts import (
    CURING,
    Front,
    StepKey,
    front_begun,
    front_done,
    strip_pool,
    water_test_step,
)
from towerpace.plan.site.logistics import whole_strip
from towerpace.plan.site.numbers import Numbers, SpreadOf
from towerpace.plan.site.sequence import Precedence
from towerpace.scenario.once import WATER_TEST
from towerpace.scenario.schema import MONTHS, After, GangTrade, Settings
from towerpace.scenario.spreads import Spread
from towerpace.units import DAY_MIN, HOUR_MIN, Floats, Ints


def trade_of(numbers: Numbers, name: str) -> GangTrade:
    """A gang trade of the scenario."""
    trade = numbers.settings.trade[name]
    assert isinstance(trade, GangTrade), "the kind of a trade decides about steps"
    return trade


class GangFronts:
    """Writes the fronts of one gang trade into a draft."""

    def __init__(self, draft: Draft, *, name: str, trade: GangTrade, order: Precedence) -> None:
        self._draft, self._name, self._trade, self._order = draft, name, trade, order
        self._units, self._pieces = self._lots()
        worked = int(np.count_nonzero(self._units.any(axis=1)))
        draft.make_room((2 * trade.coats - 1) * worked, "trade", name, "coats")  # each dries but the last
        self._coats = [self._minutes(coat) for coat in range(1, trade.coats + 1)]
        self._drying = [self._drying_after(coat) for coat in range(1, trade.coats)]
        self._strip = whole_strip(draft.settings) if trade.outside else 0
        self._needs: dict[str, Units] = {}

    def add(self, front: Front, *, rank: int) -> None:
        """One front; with no units it only passes on."""
        name: Words = (self._name, " ", front.where)
        after = self._order.waits(front, draft=self._draft, trade=self._name)
        begun, done = front_begun(self._name, front), front_done(self._name, front)
        if not self._units[front.number].any():
            tags = self._draft.tags(self._name, front)
            self._draft.ends[begun] = self._draft.add(name, key=done, after=after, tags=tags)
            return
        last = self._trade.coats
        for coat, minutes in enumerate(self._coats, start=1):
            coat_name, key = (name, done) if coat == last else ((name, ": coat ", coat), None)
            step = self._add_coat(coat_name, minutes, front, key=key, after=after, rank=rank)
            self._draft.ends.setdefault(begun, step)
            after = [self._dry(front, coat, after=[step])] if coat < last else []

    def _lots(self) -> tuple[Floats, list[tuple[SpreadOf, str]]]:
        """Units of every front, (n_fronts, n_lots), and what one takes: in one lot, or class by class."""
        columns: list[str] = []
        pieces: list[tuple[SpreadOf, str]] = []
        if self._trade.column is not None:
            columns.append(self._trade.column)
            pieces.append((self._unit_min, f"work of {self._name}"))
        for key, piece in self._trade.classes.items():
            columns.append(piece.column)
            pieces.append((self._class_min(key), f"work of {self._name}, {key}"))
        counts = self._order.levels.counts
        return np.stack([counts[column].ravel() for column in columns], axis=1).astype(np.float64), pieces

    def _unit_min(self, numbers: Numbers) -> Spread:
        spread = trade_of(numbers, self._name).unit_min
        assert spread is not None, "a trade with a column states its minutes"
        return spread

    def _class_min(self, key: str) -> SpreadOf:
        return lambda numbers: trade_of(numbers, self._name).classes[key].unit_min

    def _minutes(self, coat: int) -> DrawnMinutes:
        """How the minutes of a front are drawn; each coat under a purpose of its own."""
        again = "" if coat == 1 else f", coat {coat}"
        terms = tuple(Uncertain(unit_min, purpose + again) for unit_min, purpose in self._pieces)
        weights = self._units if self._trade.classes else None
        return DrawnMinutes(terms, factor=self._factor, pace=self._name, weights=weights)

    def _factor(self, numbers: Numbers) -> Floats:
        """Units of each front, unless they weigh the classes, learning and difficulty. [-]"""
        units = 1.0 if self._trade.classes else self._units[:, 0]
        factor: Floats = units * numbers.learned(self._name)
        return factor * numbers.difficulty if trade_of(numbers, self._name).difficulty else factor

    def _add_coat(
        self,
        name: Words,
        minutes: DrawnMinutes,
        front: Front,
        *,
        key: StepKey | None,
        after: list[int | StepKey],
        rank: int,
    ) -> int:
        """One going over of a front; the last one bears the name of the front."""
        height_m = float(self._order.levels.height_m[front.floor])
        return self._draft.add(
            name,
            key=key,
            after=after,
            needs=self._needs_in(front.zone),
            window=self._draft.closures.window(
                self._trade.calendar, limits=self._trade.limits, height_m=height_m, zone=front.zone
            ),
            mode=WORK,
            rank=rank,
            stands=front.where,
            tags=self._draft.tags(self._name, front),
            minutes=minutes,
            item=front.number,
            place=front.number,
        )

    def _needs_in(self, zone: str) -> Units:
        if zone not in self._needs:
            strip = {strip_pool(zone): self._strip} if self._strip else {}
            self._needs[zone] = self._draft.units({**self._trade.needs, **strip})
        return self._needs[zone]

    def _drying_after(self, coat: int) -> DrawnMinutes:
        purpose = f"drying of {self._name}, coat {coat}"
        return DrawnMinutes((Uncertain(self._drying_h, purpose),), factor=lambda _: HOUR_MIN)

    def _drying_h(self, numbers: Numbers) -> Spread:
        spread = trade_of(numbers, self._name).drying_h
        assert spread is not None, "the scenario is checked when it is loaded"
        return spread

    def _dry(self, front: Front, coat: int, *, after: list[int]) -> int:
        """The drying after one coat of a front."""
        window = self._drying_window(front)
        return self._draft.add(
            (self._name, " ", front.where, ": dry after coat ", coat),
            after=after,
            window=window,
            mode=ALWAYS if window == NONE else WORK,
            tags=self._draft.tags(self._name, front, kind=CURING),
            minutes=self._drying[coat - 1],
            item=front.number,
        )

    def _drying_window(self, front: Front) -> int:
        if not (self._trade.cold_months or self._trade.drying_limits):
            return NONE
        height_m, limits = float(self._order.levels.height_m[front.floor]), self._trade.drying_limits
        return self._draft.closures.over(
            f"drying of {self._name}", self._clock, limits=limits, height_m=height_m
        )

    def _clock(self, numbers: Numbers) -> Ints:
        trade, tower = trade_of(numbers, self._name), numbers.settings.tower
        mean = self._drying_h(numbers).mean()
        share = 1.0 if trade.drying_cold_h is None else mean / float(trade.drying_cold_h)
        months = frozenset(MONTHS.index(month) + 1 for month in trade.cold_months)
        return slow_clock(tower.start, days=tower.horizon_days, months=months, share=share)


@lru_cache(maxsize=16)
def slow_clock(start: date, *, days: int, months: frozenset[int], share: float) -> Ints:
    """Minutes that count for drying: all, but in some months only a share of each hour, (n, 2). [min]

    months : 1 to 12. share : above 0 and at most 1. [-]

    The counted minutes of cold hours never differ by more than one from hours x 60 x share.

    >>> slow_clock(date(2027, 10, 31), days=2, months=frozenset({11}), share=0.5)[:3].tolist()
    [[0, 1440], [1440, 1470], [1500, 1530]]
    """
    spans: list[Ints] = []
    cold_hours, per_day = 0, DAY_MIN // HOUR_MIN
    by_month = groupby(range(days), key=lambda day: (start + timedelta(days=day)).month in months)
    for cold, run in by_month:
        block = list(run)
        first, last = block[0], block[-1]
        if not cold:
            spans.append(np.array([[first * DAY_MIN, (last + 1) * DAY_MIN]], dtype=np.int64))
            continue
        count = (last + 1 - first) * per_day
        counted = np.floor(np.arange(cold_hours, cold_hours + count + 1) * HOUR_MIN * share)
        begin = (first * per_day + np.arange(count, dtype=np.int64)) * HOUR_MIN
        length = np.diff(counted).astype(np.int64)
        spans.append(np.stack((begin, begin + length), axis=1)[length > 0])
        cold_hours += count
    return np.concatenate(spans)


class WaterTests:
    """Writes the water test of the lowest levels, front by front, before anything covers their joints."""

    def __init__(self, draft: Draft, order: Precedence) -> None:
        self._draft, self._order, self._test = draft, order, draft.settings.water_test
        self._minutes = DrawnMinutes(
            (Uncertain(_test_hours, "hours of a water test"),), factor=lambda _: HOUR_MIN
        )

    def add(self, front: Front, *, rank: int) -> None:
        """The test of one front, if its level is tested."""
        test, draft = self._test, self._draft
        if test is None or not self._order.tested(front.floor):
            return
        height_m = float(self._order.levels.height_m[front.floor])
        draft.add(
            ("water test ", front.where),
            key=water_test_step(front),
            after=self._order.waits_for(_test_waits, front, draft=draft, name="water test"),
            needs=draft.units(test.needs),
            window=draft.closures.window(
                test.calendar, limits=test.limits, height_m=height_m, zone=front.zone
            ),
            mode=WORK,
            rank=rank,
            stands=front.where,
            tags=draft.tags(WATER_TEST, front, kind=WATER_TEST),
            minutes=self._minutes,
            item=front.number,
        )


def _test_hours(numbers: Numbers) -> Spread:
    assert numbers.settings.water_test is not None, "asked for only with a test"
    return numbers.settings.water_test.hours


def _test_waits(settings: Settings) -> tuple[After, ...]:
    assert settings.water_test is not None, "asked for only with a test"
    return settings.water_test.after
