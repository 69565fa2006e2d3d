"""How chance decides about trucks: when they come, and whether their load is in order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from towerpace.plan.laws import DAY_MIN, HOUR_MIN, Drawn, Streams, stream_name
from towerpace.scenario.schema import Delivery

Ints = NDArray[np.int64]


@dataclass(frozen=True)
class TruckLaw:
    """When trucks come: as due, or some hours late, or some hours early; one draw tells the three apart.

    steps, items : (k,). due : (k,) planned minutes; without meaning for trucks on call. [min]
    For a truck on call the minutes from the call to its arrival are drawn, else the date of its arrival.
    owner : trade whose trucks have streams of their own; empty where there is one for all.
    """

    steps: Ints
    items: Ints
    due: Ints
    delivery: Delivery
    owner: str = ""

    def apply(self, into: Drawn, streams: Streams) -> None:
        """Draw the arrival of every truck."""
        delivery, lot = self.delivery, self._drawn("truck late", streams)
        hours = delivery.late_h.quantile(self._drawn("truck hours late", streams))
        shift = np.where(lot < float(delivery.late_chance), _minutes(hours), 0)
        if delivery.early_h is not None and delivery.early_chance is not None:
            hours = delivery.early_h.quantile(self._drawn("truck hours early", streams))
            early = lot >= 1 - float(delivery.early_chance)
            shift = np.where(early, self._early(_minutes(hours)), shift)
        if delivery.lead_days is None:
            into.date[self.steps] = np.maximum(self.due + shift, 0)
            return
        days = delivery.lead_days.quantile(self._drawn("truck lead", streams))
        lead = np.rint(days * DAY_MIN).astype(np.int64)
        into.work[self.steps] = np.maximum(lead + shift, 0)

    def _drawn(self, purpose: str, streams: Streams) -> NDArray[np.float64]:
        """The number of every truck under one purpose, (k,). [-]"""
        n = int(self.items.max(initial=-1)) + 1
        return streams(stream_name(purpose, owner=self.owner)).random(n)[self.items]

    def _early(self, minutes: Ints) -> Ints:
        """Minutes between due and admitted of trucks that come early; sent away, they come again."""
        if self.delivery.accept_early:
            return -minutes
        back = 0 if self.delivery.back_days is None else round(float(self.delivery.back_days) * DAY_MIN)
        return np.maximum(back - minutes, 0)


@dataclass(frozen=True)
class SkipLaw:
    """Steps that are left out unless chance asks for them.

    steps, items : (k,). chance : of being asked for. [-]
    """

    steps: Ints
    items: Ints
    chance: float
    purpose: str

    def apply(self, into: Drawn, streams: Streams) -> None:
        """Draw which steps are needed."""
        n = int(self.items.max(initial=-1)) + 1
        into.skip[self.steps] = streams(self.purpose).random(n)[self.items] >= self.chance


def _minutes(hours: NDArray[np.float64]) -> Ints:
    return np.rint(hours * HOUR_MIN).astype(np.int64)
