"""Set-ups against a base on the same draws: days, money, chances, and where the hours went."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from contextlib import nullcontext
from dataclasses import dataclass

import numpy as np

from towerpace.answers.choice.causes import CauseChange, cause_changes
from towerpace.answers.choice.lab import processes
from towerpace.answers.choice.paired import Difference, paired_difference, percentile_difference
from towerpace.answers.choice.stated import planned
from towerpace.answers.cost import PARTS
from towerpace.answers.estimates import LATER, Chance, chance
from towerpace.answers.forecast import Forecast, forecast
from towerpace.draws import stream
from towerpace.scenario.setups import SetUp
from towerpace.units import DAY_MIN


@dataclass(frozen=True)
class Against:
    """A set-up against the base.

    days, p80_days : of the finish, set-up less base; None where trials of either lie beyond the horizon. [d]
    money : of the cost, set-up less base; None without costs. beats : chance to finish earlier than the base.
    causes : what the hours of the ledger went into more or less, over all trades, the largest change first.
    """

    days: Difference | None
    p80_days: Difference | None
    money: Difference | None
    beats: Chance
    causes: tuple[CauseChange, ...]


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
    forecasts: list[Forecast] = []
    with processes(workers) if executor is None else nullcontext(executor) as shared:
        for ready_setup in ready:
            try:
                played = forecast(ready_setup, trials=trials, seed=seed, executor=shared, on_done=on_done)
            except KeyboardInterrupt:
                break
            forecasts.append(played)
            if played.trials < trials:
                break
    if len(forecasts) < min(2, len(setups)):
        raise KeyboardInterrupt  # one set-up alone is no comparison
    base = forecasts[0]
    return [
        Compared(setup, own, None if own is base else against(own, base))
        for setup, own in zip(setups, forecasts, strict=False)
    ]


def against(own: Forecast, base: Forecast) -> Against:
    """One forecast against another of the same seed, over the trials that both have."""
    n = min(own.trials, base.trials)
    a, b = own.finish[:n], base.finish[:n]
    known = not np.any((a == LATER) | (b == LATER)) and n > 1
    # Resampling belongs to no single trial: it has a random stream of its own, under trial 0 of the seed.
    spread = percentile_difference(a, b, 0.8, rng=stream(own.seed, 0, "bootstrap")) if n > 1 else None
    return Against(
        days=paired_difference(a / DAY_MIN, b / DAY_MIN) if known else None,
        p80_days=None if spread is None else in_days(spread),
        money=_money(own, base, n) if known else None,
        beats=chance(a < b),
        causes=cause_changes(own, base),
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
