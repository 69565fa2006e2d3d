"""How chance decides about trucks: when they come, and whether their load is in order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import ClassVar

import numpy as np

from towerpace.plan.arrays import PlanArrays
from towerpace.plan.chance import DELIVERIES, Drawn, Known, Law, Probe, Streams, by_item, stream_name, taken
from towerpace.scenario.schema import Delivery
from towerpace.units import DAY_MIN, HOUR_MIN, Floats, Ints


@dataclass(frozen=True)
class TruckLaw(Law):
    """When trucks come: as due, or some hours late, or some hours early; one draw tells the three apart.

    steps, items : (k,). due : (k,) planned minutes; without meaning for trucks on call. [min]
    For a truck on call the minutes from the call to its arrival are drawn, else the date of its arrival.
    owner : trade whose trucks have streams of their own; empty where there is one for all.
    """

    source: ClassVar[str] = DELIVERIES
    steps: Ints
    items: Ints
    due: Ints
    delivery: Delivery
    owner: str = ""

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:  # noqa: ARG002  nothing is known yet
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

    def _drawn(self, purpose: str, streams: Streams) -> Floats:
        """The number of every truck under one purpose, (k,). [-]"""
        return by_item(streams(stream_name(purpose, owner=self.owner)), self.items)

    def _early(self, minutes: Ints) -> Ints:
        """Minutes between due and admitted of trucks that come early; sent away, they come again."""
        if self.delivery.accept_early:
            return -minutes
        back = 0 if self.delivery.back_days is None else round(float(self.delivery.back_days) * DAY_MIN)
        return np.maximum(back - minutes, 0)

    def probes(self, plan: PlanArrays, *, until: int) -> Iterator[Probe]:  # noqa: ARG002  one interface
        """How many trucks are late, and by how much in all."""
        usual = plan.work[self.steps]
        yield Probe("late trucks", self.source, "trucks", 1, partial(self._late, usual))
        hours = partial(self._minutes_late, usual)
        yield Probe("hours of late trucks, summed", self.source, "h", HOUR_MIN, hours)

    def _lateness(self, usual: Ints, drawn: Drawn) -> Ints:
        if self.delivery.lead_days is None:
            return drawn.date[self.steps] - self.due
        return drawn.work[self.steps] - usual

    def _late(self, usual: Ints, drawn: Drawn) -> int:
        return int(np.count_nonzero(self._lateness(usual, drawn) > 0))

    def _minutes_late(self, usual: Ints, drawn: Drawn) -> int:
        return int(np.maximum(self._lateness(usual, drawn), 0).sum())


@dataclass(frozen=True)
class SortingLaw(Law):
    """Loads are sorted only if chance asks for it.

    steps, items : (k,). chance : of a load in the wrong order. [-]
    """

    source: ClassVar[str] = DELIVERIES
    steps: Ints
    items: Ints
    chance: float
    owner: str = ""

    @property
    def purpose(self) -> str:
        """Stream that decides."""
        return stream_name("truck in wrong order", owner=self.owner)

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:  # noqa: ARG002  nothing is known yet
        """Draw which loads must be sorted."""
        into.skip[self.steps] = by_item(streams(self.purpose), self.items) >= self.chance

    def probes(self, plan: PlanArrays, *, until: int) -> Iterator[Probe]:  # noqa: ARG002  one interface
        """How many loads are sorted."""
        yield Probe(self.purpose, self.source, "trucks", 1, partial(taken, self.steps))


def _minutes(hours: Floats) -> Ints:
    return np.rint(hours * HOUR_MIN).astype(np.int64)
