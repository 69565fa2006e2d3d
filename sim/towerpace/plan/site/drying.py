"""Time between coats: it passes night and day, more slowly in the cold months, and not in forbidden weather.

The cold months are those of the day on which the coat dries, so a trial that is late dries later in the year.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from towerpace.plan.laws import DAY_MIN, HOUR_MIN, Term
from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import Front
from towerpace.plan.site.sequence import Sequence
from towerpace.scenario.schema import MONTHS, GangTrade

Ints = NDArray[np.int64]


def add_drying(
    draft: Draft, after: str, *, name: str, trade: GangTrade, front: Front, coat: int, sequence: Sequence
) -> str:
    """The drying after one coat of a front."""
    assert trade.drying_h is not None, "the scenario is checked when it is loaded"
    chance = Chance(
        front.number, factor=HOUR_MIN, terms=(Term(trade.drying_h, f"drying of {name}, coat {coat}"),)
    )
    window = _window(draft, name, trade=trade, front=front, sequence=sequence)
    return draft.add(
        Step(
            f"{name} {front.where}: dry after coat {coat}",
            work=draft.expected(chance),
            after=[after],
            window=window,
            mode="always" if window is None else "work",
            tags=Tags(trade=name, level=front.level, zone=front.zone, kind="curing"),
        ),
        chance=chance,
    )


def _window(draft: Draft, name: str, *, trade: GangTrade, front: Front, sequence: Sequence) -> str | None:
    if trade.drying_h is None or not (trade.cold_months or trade.drying_limits):
        return None
    tower = sequence.settings.tower
    share = 1.0 if trade.drying_cold_h is None else trade.drying_h.mean() / float(trade.drying_cold_h)
    months = frozenset(MONTHS.index(month) + 1 for month in trade.cold_months)
    clock = slow_clock(tower.start, days=tower.horizon_days, months=months, share=share)
    height_m = float(sequence.levels.height_m[front.floor])
    return draft.closures.over(f"drying of {name}", clock, limits=trade.drying_limits, height_m=height_m)


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
