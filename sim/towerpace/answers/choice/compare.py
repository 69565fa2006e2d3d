"""Set-ups against a base on the same draws: days, money, chances, and where the hours went."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.choice.paired import Difference, paired_difference, percentile_difference
from towerpace.answers.choice.stated import planned
from towerpace.answers.cost import PARTS
from towerpace.answers.days import DAY_MIN
from towerpace.answers.estimates import LATER, Chance, chance
from towerpace.answers.forecast import Forecast, forecast
from towerpace.answers.ledger.book import in_calendar_time
from towerpace.draws import stream
from towerpace.scenario.setups import SetUp

SHIFTS_SHOWN = 4


@dataclass(frozen=True)
class Shift:
    """How much longer (or shorter) one row of the ledger spent on one cause. hours : mean of a trial. [h]"""

    row: str
    cause: str
    hours: float


@dataclass(frozen=True)
class Against:
    """A set-up against the base.

    days, p80_days : of the finish, set-up less base; None where trials of either lie beyond the horizon. [d]
    money : of the cost, set-up less base; None without costs. beats : chance to finish earlier than the base.
    shifts : the largest changes in the ledger.
    """

    days: Difference | None
    p80_days: Difference | None
    money: Difference | None
    beats: Chance
    shifts: tuple[Shift, ...]


@dataclass(frozen=True)
class Compared:
    """One set-up: its own forecast, and how it stands against the base (None for the base itself)."""

    setup: SetUp
    forecast: Forecast
    against: Against | None


def compare(
    setups: Sequence[SetUp],
    *,
    trials: int,
    seed: int,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> list[Compared]:
    """Forecast every set-up on the same draws; the first is the base.

    Raises `InputError` for what cannot be run.
    """
    ready = planned(setups[0].scenario, setups)  # all of them before the first trial
    found = [
        forecast(made, trials=trials, seed=seed, workers=workers, executor=executor, on_done=on_done)
        for made in ready
    ]
    base = found[0]
    return [
        Compared(setup, own, None if own is base else against(own, base))
        for setup, own in zip(setups, found, strict=True)
    ]


def against(own: Forecast, base: Forecast) -> Against:
    """One forecast against another of the same seed, over the trials that both have."""
    n = min(own.trials, base.trials)
    a, b = own.finish[:n], base.finish[:n]
    known = not np.any((a == LATER) | (b == LATER)) and n > 1
    # The trials are the same in both, so the stream is keyed as one more purpose of the seed.
    spread = percentile_difference(a, b, 0.8, rng=stream(own.seed, 0, "bootstrap")) if n > 1 else None
    return Against(
        days=paired_difference(a / DAY_MIN, b / DAY_MIN) if known else None,
        p80_days=None if spread is None else in_days(spread),
        money=_money(own, base, n) if known else None,
        beats=chance(a < b),
        shifts=_shifts(own, base),
    )


def in_days(minutes: Difference) -> Difference:
    """The same difference in days."""
    return Difference(
        minutes.mean / DAY_MIN, minutes.low / DAY_MIN, minutes.high / DAY_MIN, minutes.sd / DAY_MIN
    )


def _money(own: Forecast, base: Forecast, n: int) -> Difference | None:
    if own.cost is None or base.cost is None:
        return None
    return paired_difference(own.cost[:n] / PARTS, base.cost[:n] / PARTS)


def _shifts(own: Forecast, base: Forecast) -> tuple[Shift, ...]:
    """The largest changes of hours in the ledger; a calendar day of waiting counts as an hour in a shift."""
    before, after = table_of(base), table_of(own)
    found = [Shift(*key, after.get(key, 0.0) - before.get(key, 0.0)) for key in {**before, **after}]
    found = [s for s in found if s.cause != "outside shift" and abs(s.hours) >= 1.0]
    found.sort(key=lambda s: abs(s.hours) / (24.0 if in_calendar_time(s.cause) else 1.0), reverse=True)
    return tuple(found[:SHIFTS_SHOWN])


def table_of(forecast: Forecast) -> dict[tuple[str, str], float]:
    """Mean ledger hours by row and cause. [h]"""
    hours: NDArray[np.float64] = forecast.ledger_h
    return {
        (row, cause): float(hours[i, j])
        for i, row in enumerate(forecast.rows)
        for j, cause in enumerate(forecast.causes)
        if hours[i, j]
    }
