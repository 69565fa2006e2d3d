"""Which panels are lost, why, and what comes in their place: one draw for all panels of a trade."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from typing import ClassVar

import numpy as np

from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.plan.chance import (
    BREAKAGE,
    NOTHING_KNOWN,
    Drawn,
    Known,
    Law,
    MadeOnce,
    Probe,
    Streams,
    by_item,
    taken,
)
from towerpace.plan.site.gathered import Gathered
from towerpace.scenario.schema import Family
from towerpace.scenario.schema.setting import LOSSES
from towerpace.units import DAY_MIN, Flags, Floats, Ints


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
class LossLaw(MadeOnce, Law):
    """Losses of the panels of a trade, and the minutes and skips that follow from them.

    families : those with any chance. family : (k,) places in it. items : (k,) panel numbers, ascending.
    unfit, broken, later : (k, m) steps done only after such a loss, the lead time first; padded with -1.
    normal : (k,) steps that set the panels; passed over for an unfit panel where `passes`.
    set_if_unfit, set_if_broken : (k,) steps that set the panel in the end.
    gathered : the visits for which new panels are gathered; None where each has its own.
    """

    source: ClassVar[str] = BREAKAGE
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
    gathered: Gathered | None = None

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw what befalls every panel."""
        losses = self.losses(streams, known)
        into.skip[self.normal[losses.unfit & self.passes]] = True
        into.skip[: len(self._remedies)] |= self._remedies
        lead = self._lead_min(losses, streams)
        for steps, happened in zip(self._chains, (losses.unfit, losses.broken, losses.later), strict=True):
            panels = np.flatnonzero(happened & (steps[:, 0] != NONE))
            needed = steps[panels]
            into.skip[needed[needed != NONE]] = False
            into.work[needed[:, 0]] = lead[panels]
        sets = np.where(losses.unfit, self.set_if_unfit, self.normal)
        sets = np.where(losses.broken, self.set_if_broken, sets)
        if self.gathered is not None:
            together, again = self.gathered.decide(into, losses.unfit | losses.broken, lead)
            sets[together] = again
        self._add_misfits(into, losses, sets, streams)

    def losses(self, streams: Streams, known: Known = NOTHING_KNOWN) -> Losses:
        """Rejected or broken on the way, else broken in handling, else later: each by a draw of its own.

        A panel that is left out to the end has no steps for a break later, as nobody works there any more.
        """
        chances = self._chances_given(known, streams)
        happens = partial(self._happens, chances=chances, streams=streams)
        unfit = happens("reject_chance") | happens("transit_break_chance")
        broken = happens("handling_break_chance") & ~unfit
        later = happens("later_break_chance") & ~unfit & ~broken & (self.later[:, 0] != NONE)
        return Losses(unfit, broken, later, happens("misfit_chance"))

    def from_stock(self, lost: Ints) -> Ints:
        """Those of the lost panels replaced from spares: the first of each family, in the order given."""
        family = self.family[lost]
        return np.concatenate([lost[family == k][: of.spares] for k, of in enumerate(self.families)])

    @property
    def _chains(self) -> tuple[Ints, Ints, Ints]:
        return self.unfit, self.broken, self.later

    @cached_property
    def _remedies(self) -> Flags:
        """Whether a step is done only after a loss, from step 0 to the last that is."""
        steps = np.concatenate([chain.ravel() for chain in self._chains])
        if self.gathered is not None:
            steps = np.append(steps, self.gathered.remedies)
        return np.bincount(steps[steps != NONE]).astype(np.bool_)

    @cached_property
    def stated(self) -> dict[str, Floats]:
        """Every chance that some family has, (n_families,). [-]"""
        keys = (*LOSSES, "misfit_chance")
        chances = {key: np.array([family.chance(key) for family in self.families]) for key in keys}
        return {key: of_families for key, of_families in chances.items() if of_families.any()}

    @cached_property
    def _chances(self) -> dict[str, Floats]:
        """The same of every panel, (k,). [-]"""
        return {key: of_families[self.family] for key, of_families in self.stated.items()}

    def _chances_given(self, known: Known, streams: Streams) -> dict[str, Floats]:
        """The same in one trial, with what the site has taught. [-]"""
        if known.chances is None:
            return self._chances
        columns = [family.column for family in self.families]
        given = known.chances.given(self.stated, trade=self.trade, columns=columns, streams=streams)
        return {key: of_families[self.family] for key, of_families in given.items()}

    def _drawn(self, key: str, streams: Streams) -> Floats:
        """The number of every panel under one purpose, (k,). [-]"""
        drawn: Floats = by_item(streams(f"{key} of {self.trade}"), self.items)
        return drawn

    def _happens(self, key: str, *, chances: dict[str, Floats], streams: Streams) -> Flags:
        if key not in chances:
            return np.zeros(len(self.items), dtype=np.bool_)
        return self._drawn(key, streams) < chances[key]

    def _lead_min(self, losses: Losses, streams: Streams) -> Ints:
        """Minutes from each loss, or from closing-in, until the new panel is at the gate, (k,). [min]"""
        lost, later = np.flatnonzero(losses.lost), np.flatnonzero(losses.later)
        days = np.zeros(len(self.items))
        days[lost] = self._quantiles("remake_days", lost, streams)
        stocked = self.from_stock(lost)
        spare_days = np.array([float(family.spare_days or 0.0) for family in self.families])
        days[stocked] = spare_days[self.family[stocked]]
        days[later] += self._quantiles("later_found_days", later, streams)
        return np.rint(days * DAY_MIN).astype(np.int64)

    def _add_misfits(self, into: Drawn, losses: Losses, sets: Ints, streams: Streams) -> None:
        """Sets : (k,) the step that sets each panel in the end."""
        panels = np.flatnonzero(losses.misfit)
        extra = np.rint(self._quantiles("misfit_min", panels, streams)).astype(np.int64)
        into.work[sets[panels]] += extra

    def _quantiles(self, key: str, panels: Ints, streams: Streams) -> Floats:
        """A spread of their families for some panels, (n,)."""
        values = np.zeros(len(panels))
        if not len(panels):
            return values
        drawn, families = self._drawn(key, streams)[panels], self.family[panels]
        for k, family in enumerate(self.families):
            mine = families == k
            if mine.any():
                values[mine] = getattr(family, key).quantile(drawn[mine])
        return values

    def probes(self, plan: PlanArrays, *, until: int) -> Iterator[Probe]:  # noqa: ARG002  one interface
        """How many panels are lost, and the longest wait for a new one: those found later apart."""
        kinds = {
            f"lost panels of {self.trade}": (self.unfit, self.broken),
            f"panels of {self.trade} lost later": (self.later,),
        }
        for name, chains in kinds.items():
            firsts = np.concatenate([chain[:, 0] for chain in chains])
            if self.gathered is not None and chains[0] is not self.later:
                firsts = np.append(firsts, self.gathered.leads)
            steps = np.unique(firsts[firsts != NONE])
            if len(steps):
                yield Probe(name, self.source, "panels", 1, partial(taken, steps))
                yield Probe(f"{name}: longest wait", self.source, "d", DAY_MIN, partial(_longest, steps))


def _longest(steps: Ints, drawn: Drawn) -> int:
    return int(drawn.work[steps[~drawn.skip[steps]]].max(initial=0))
