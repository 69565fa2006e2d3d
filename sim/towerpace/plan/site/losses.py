"""Which panels are lost, why, and what comes in their place: one draw for all panels of a trade."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from towerpace.plan.laws import DAY_MIN, Drawn, Streams
from towerpace.plan.model import NONE
from towerpace.scenario.schema import Family

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Losses:
    """What befell the panels of one trial, (k,) each: at most one of the first three, and misfits."""

    unfit: Flags
    broken: Flags
    later: Flags
    misfit: Flags

    @property
    def lost(self) -> Flags:
        """Panels that a new one replaces."""
        return self.unfit | self.broken | self.later


@dataclass(frozen=True)
class LossLaw:
    """Losses of the panels of a trade, and the minutes and skips that follow from them.

    families : those with any chance. family : (k,) places in it. items : (k,) panel numbers, ascending.
    unfit, broken, later : (k, m) steps done only after such a loss, the lead time first; padded with -1.
    normal : (k,) steps that set the panels; passed over for an unfit panel where `passes`.
    set_if_unfit, set_if_broken : (k,) steps that set the panel in the end.
    """

    trade: str
    families: tuple[Family, ...]
    family: Ints
    items: Ints
    unfit: Ints
    broken: Ints
    later: Ints
    normal: Ints
    passes: Flags
    set_if_unfit: Ints
    set_if_broken: Ints

    def apply(self, into: Drawn, streams: Streams) -> None:
        """Draw what befalls every panel."""
        losses = self.losses(streams)
        into.skip[self.normal[losses.unfit & self.passes]] = True
        chains = ((self.unfit, losses.unfit), (self.broken, losses.broken), (self.later, losses.later))
        for steps, _ in chains:
            into.skip[steps[steps != NONE]] = True
        for steps, happened in chains:
            needed = steps[happened]
            into.skip[needed[needed != NONE]] = False
        lead = self._lead_min(losses, streams)
        for steps, happened in chains:
            into.work[steps[happened, 0]] = lead[happened]
        self._add_misfits(into, losses, streams)

    def losses(self, streams: Streams) -> Losses:
        """Rejected or broken on the way, else broken in handling, else later: each by a draw of its own."""
        unfit = self._happens("reject_chance", streams) | self._happens("transit_break_chance", streams)
        broken = self._happens("handling_break_chance", streams) & ~unfit
        later = self._happens("later_break_chance", streams) & ~unfit & ~broken
        return Losses(unfit, broken, later, self._happens("misfit_chance", streams))

    def from_stock(self, lost: Flags) -> Flags:
        """Losses replaced from spares: the first of each family in planned order, (k,)."""
        spare = np.zeros_like(lost)
        for k, family in enumerate(self.families):
            mine = np.flatnonzero(lost & (self.family == k))
            spare[mine[: family.spares]] = True
        return spare

    def _happens(self, key: str, streams: Streams) -> Flags:
        chances = np.array([family.chance(key) for family in self.families])[self.family]
        if not chances.any():
            return np.zeros(len(self.items), dtype=np.bool_)
        drawn = streams(f"{key} of {self.trade}").random(int(self.items[-1]) + 1)
        happened: Flags = drawn[self.items] < chances
        return happened

    def _lead_min(self, losses: Losses, streams: Streams) -> Ints:
        """Minutes from each loss, or from closing-in, until the new panel is at the gate, (k,). [min]"""
        days = self._quantiles("remake_days", losses.lost, streams)
        spare = np.array([float(family.spare_days or 0.0) for family in self.families])[self.family]
        days = np.where(self.from_stock(losses.lost), spare, days)
        days += self._quantiles("later_found_days", losses.later, streams)
        return np.rint(days * DAY_MIN).astype(np.int64)

    def _add_misfits(self, into: Drawn, losses: Losses, streams: Streams) -> None:
        extra = np.rint(self._quantiles("misfit_min", losses.misfit, streams)).astype(np.int64)
        sets = np.where(losses.unfit, self.set_if_unfit, self.normal)
        sets = np.where(losses.broken, self.set_if_broken, sets)
        into.work[sets] += extra

    def _quantiles(self, key: str, which: Flags, streams: Streams) -> NDArray[np.float64]:
        """A spread of the families for some panels, 0 for the others, (k,)."""
        values = np.zeros(len(self.items))
        if not which.any():
            return values
        drawn = streams(f"{key} of {self.trade}").random(int(self.items[-1]) + 1)[self.items]
        for k, family in enumerate(self.families):
            mine = which & (self.family == k)
            if mine.any():
                values[mine] = getattr(family, key).quantile(drawn[mine])
        return values
