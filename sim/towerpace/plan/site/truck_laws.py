"""How chance decides about trucks: when they come, and whether their load is in order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from typing import ClassVar, NamedTuple

import numpy as np

from towerpace.lots.streams import Streams
from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.plan.chance import (
    DELIVERIES,
    Drawn,
    Known,
    Law,
    MadeOnce,
    Probe,
    by_item,
    stream_name,
    taken,
)
from towerpace.plan.given import quantile_above, share_below
from towerpace.plan.seen import Seen
from towerpace.scenario.schema import Delivery
from towerpace.scenario.spread_rows import Row, Run
from towerpace.units import DAY_MIN, HOUR_MIN, Flags, Floats, Ints


class Lots(NamedTuple):
    """Numbers from 0 to 1 that tell of each truck whether it is late, and by how much late or early, (k,)."""

    late: Floats
    hours_late: Floats
    hours_early: Floats | None


@dataclass(frozen=True)
class TruckLaw(MadeOnce, Law):
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

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw the arrival of every truck; one that is overdue is later than it is by now."""
        late, hours_late, *others = self._row.by_run(streams)
        shift = self._shifts(late, hours_late, None if self.delivery.early_h is None else others[0])
        if self.delivery.lead_days is None:
            if known.seen is not None:
                passed = known.seen.waited(self.steps)
                least = np.where(passed == NONE, NONE, known.seen.data_date_min - self.due)
                self._overdue(shift, self._lots(streams), where=passed != NONE, least=least)
            into.date[..., self.steps] = np.maximum(self.due + shift, 0)
            return
        lead = np.rint(others[-1] * DAY_MIN).astype(np.int64)
        if known.seen is not None:
            passed = self._on_the_way(known.seen)
            self._overdue(shift, self._lots(streams), where=passed != NONE, least=passed - lead)
        into.work[..., self.steps] = np.maximum(lead + shift, 0)

    def takes_many(self, known: Known) -> bool:
        """Until the site has shown something."""
        return known.seen is None

    @cached_property
    def _row(self) -> Row:
        """Whether a truck is late, its hours late, hours early if any may be, and days of lead if on call."""
        spreads = {
            "truck late": None,
            "truck hours late": self.delivery.late_h,
            "truck hours early": self.delivery.early_h,
            "truck lead": self.delivery.lead_days,
        }
        return Row(
            [
                Run(self.items, spread, self._stream(purpose))
                for purpose, spread in spreads.items()
                if spread is not None or purpose == "truck late"
            ]
        )

    def _stream(self, purpose: str) -> str:
        return stream_name(purpose, owner=self.owner)

    def _lots(self, streams: Streams) -> Lots:
        """The same numbers before they are read off their spreads."""

        def drawn(purpose: str) -> Floats:
            return by_item(streams(self._stream(purpose)), self.items)

        early = None if self.delivery.early_h is None else drawn("truck hours early")
        return Lots(drawn("truck late"), drawn("truck hours late"), early)

    def _shifts(self, late: Floats, hours_late: Floats, hours_early: Floats | None) -> Ints:
        """Minutes that every truck comes later than due, below 0 for earlier, (..., k). [min]"""
        shift = np.where(late < float(self.delivery.late_chance), _minutes(hours_late), 0)
        if hours_early is not None:
            early = late >= 1 - float(self.delivery.early_chance or 0.0)
            shift = np.where(early, self._early(_minutes(hours_early)), shift)
        return shift

    def _on_the_way(self, seen: Seen) -> Ints:
        """Minutes since trucks that are not there were called, (k,); -1 for others. [min]"""
        passed = seen.waited(self.steps)
        return np.where(seen.timed[self.steps], seen.spent[self.steps], passed)

    def _overdue(self, shift: Ints, lots: Lots, *, where: Flags, least: Ints) -> None:
        """Set the shifts of trucks right that are known to come more than some minutes later than due.

        least : (k,). [min]  Bayes over late, on time and early, each given that it is more.
        """
        late, late_h, early_h = float(self.delivery.late_chance), self.delivery.late_h, self.delivery.early_h
        early = 0.0 if early_h is None else float(self.delivery.early_chance or 0.0)
        for k in np.flatnonzero(where).tolist():
            hours = int(least[k]) / HOUR_MIN
            share_late = late * (1 - share_below(late_h, hours))
            share_on_time = (1 - late - early) * (hours < 0)
            early_below = 0.0 if early_h is None else share_below(early_h, self._back_h() - hours)
            both = share_late + share_on_time
            lot = float(lots.late[k]) * (both + early * early_below)
            if lot < share_late or both + early * early_below == 0:
                more = quantile_above(late_h, float(lots.hours_late[k]), hours)
                shift[k] = max(round(more * HOUR_MIN), int(least[k]) + 1)
            elif lot < both or early_h is None or lots.hours_early is None:
                shift[k] = 0
            else:
                less = early_h.quantile(lots.hours_early[k : k + 1] * early_below)
                shift[k] = self._early(_minutes(less))[0]

    def _early(self, minutes: Ints) -> Ints:
        """Minutes between due and admitted of trucks that come early; sent away, they come again."""
        if self.delivery.accept_early:
            return -minutes
        return np.maximum(round(self._back_h() * HOUR_MIN) - minutes, 0)

    def _back_h(self) -> float:
        """Hours after which a truck that was early is back. [h]"""
        days = None if self.delivery.accept_early else self.delivery.back_days
        return 0.0 if days is None else round(float(days) * DAY_MIN) / HOUR_MIN

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
class SortingLaw(MadeOnce, Law):
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
        into.skip[..., self.steps] = self._row.drawn(streams) >= self.chance

    def takes_many(self, known: Known) -> bool:  # noqa: ARG002  one interface
        """Always."""
        return True

    @cached_property
    def _row(self) -> Row:
        return Row([Run(self.items, None, self.purpose)])

    def probes(self, plan: PlanArrays, *, until: int) -> Iterator[Probe]:  # noqa: ARG002  one interface
        """How many loads are sorted."""
        yield Probe(self.purpose, self.source, "trucks", 1, partial(taken, self.steps))


def _minutes(hours: Floats) -> Ints:
    return np.rint(hours * HOUR_MIN).astype(np.int64)
