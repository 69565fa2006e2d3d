"""Pace of the trades in one trial: their own spread, what long shifts cost, and risks that slow them down."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

import numpy as np

from towerpace.lots.streams import Streams
from towerpace.plan.chance import MINUTES, RISKS, Known, MadeOnce
from towerpace.plan.laws import Hindrance, PaceLaw
from towerpace.scenario.schema import Calendar, Settings
from towerpace.scenario.spread_rows import Row, one_each
from towerpace.scenario.spreads import Spread
from towerpace.units import HOUR_MIN, Floats

LAW_POINTS = 20  # that stand for the law of what hinders a trade


@dataclass(frozen=True)
class LongShiftLoss(MadeOnce):
    """Output lost in the late hours of long days.

    beyond : share of the working hours that lie beyond the hour from which output falls. [-]
    loss : share of the output lost in them. [-]

    Notes
    -----
    Hours h of which a share b yields only 1 - q of the output do the work of h (1 - b q), so all work takes
    1 / (1 - b q) times as long. Averaged over the week: not only the work that falls into the late hours.
    """

    source: ClassVar[str] = MINUTES
    trade: str
    beyond: float
    loss: Spread

    def factor(self, streams: Streams, known: Known) -> Floats:  # noqa: ARG002  its minutes tell, and are learned
        """Minutes over what they are without the loss, (...). [-]"""
        factor: Floats = 1 / (1 - self.beyond * self._row.drawn(streams)[..., 0])
        return factor

    @cached_property
    def _row(self) -> Row:
        return one_each({f"long shifts of {self.trade}": self.loss})

    def law(self) -> tuple[Floats, Floats]:
        """Factors that stand for all, each for the same share, and the chance of each, (n,). [-]"""
        losses = self.loss.quantile((np.arange(LAW_POINTS) + 0.5) / LAW_POINTS)
        return 1 / (1 - self.beyond * losses), np.full(LAW_POINTS, 1 / LAW_POINTS)

    def expected(self) -> float:
        """The factor at the mean loss. [-]"""
        return 1 / (1 - self.beyond * self.loss.mean())


def risk_purpose(name: str) -> str:
    """Stream that tells whether a risk befalls."""
    return f"risk {name}"


def size_purpose(name: str) -> str:
    """Stream that tells how much it does if it befalls."""
    return f"size of risk {name}"


def risk_row(name: str, size: Spread | None = None) -> Row:
    """The lot that tells whether a risk befalls, and how large it is then if it has a size."""
    spreads: dict[str, Spread | None] = {risk_purpose(name): None}
    return one_each(spreads if size is None else spreads | {size_purpose(name): size})


@dataclass(frozen=True)
class RiskFactor(MadeOnce):
    """A risk that, if it befalls, stretches the minutes of a trade."""

    source: ClassVar[str] = RISKS
    trade: str
    risk: str
    chance: float
    size: Spread

    def factor(self, streams: Streams, known: Known) -> Floats:
        """The drawn factor if the risk befalls, else 1, (...). [-]"""
        lots, sizes = self._row.by_run(streams)
        befalls = known.befalls(self.risk, drawn=lots[..., 0] < self.chance)
        return np.where(befalls, sizes[..., 0], 1.0)

    @cached_property
    def _row(self) -> Row:
        return risk_row(self.risk, self.size)

    def law(self) -> tuple[Floats, Floats]:
        """Factors that stand for all, the first if it does not befall, and their chances, (n,). [-]"""
        sizes = self.size.quantile((np.arange(LAW_POINTS) + 0.5) / LAW_POINTS)
        shares = np.full(LAW_POINTS, self.chance / LAW_POINTS)
        return np.append(1.0, sizes), np.append(1 - self.chance, shares)


def pace_law(settings: Settings) -> PaceLaw:
    """Pace factors of all trades and how they go together."""
    names = list(settings.trade)
    correlation = np.eye(len(names))
    for group in settings.correlation:
        at = [names.index(name) for name in group.trades]
        for i in at:
            for j in at:
                if i != j:
                    correlation[i, j] = float(group.rho)
    spreads = {name: trade.pace for name, trade in settings.trade.items()}
    root = np.linalg.cholesky(correlation).astype(np.float64)
    hindrances: list[Hindrance] = [*_long_shifts(settings).values(), *_risk_factors(settings)]
    return PaceLaw(spreads, root, tuple(hindrances))


def pace_means(settings: Settings) -> dict[str, float]:
    """Expected pace factor of every trade, in which no risk befalls. [-]"""
    losses = _long_shifts(settings)
    return {
        name: trade.pace.mean() * (losses[name].expected() if name in losses else 1.0)
        for name, trade in settings.trade.items()
    }


def beyond_share(calendar: Calendar, *, after_h: float) -> float:
    """Share of the working hours of a week, without closed days, that lie beyond an hour of their day. [-]"""
    hours = [sum(b - a for a, b in day) / HOUR_MIN for day in calendar.week.days()]
    # A calendar may work by dated hours alone; then nothing of its usual week lies beyond.
    return sum(max(h - after_h, 0.0) for h in hours) / sum(hours) if any(hours) else 0.0


def _long_shifts(settings: Settings) -> dict[str, LongShiftLoss]:
    losses = {}
    for name, trade in settings.trade.items():
        if trade.long_shift is not None:
            after_h = float(trade.long_shift.after_h)
            beyond = beyond_share(settings.calendar[trade.calendar], after_h=after_h)
            losses[name] = LongShiftLoss(name, beyond, trade.long_shift.loss)
    return losses


def _risk_factors(settings: Settings) -> list[RiskFactor]:
    return [
        RiskFactor(risk.on, risk.name, float(risk.chance), risk.factor)
        for risk in settings.risk
        if risk.factor is not None
    ]
