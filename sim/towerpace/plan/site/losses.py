"""Which panels are lost, why, and what comes in their place: one draw for all panels of a trade."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from typing import ClassVar

import numpy as np

from towerpace.lots.streams import Streams
from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.plan.chance import (
    BREAKAGE,
    NOTHING_KNOWN,
    Drawn,
    Known,
    Law,
    MadeOnce,
    Probe,
    by_item,
    taken,
)
from towerpace.plan.given import quantile_above, share_below
from towerpace.plan.seen import Seen
from towerpace.plan.site.gathered import Gathered
from towerpace.plan.site.losses_seen import chances_not_found, first_known, lost_and_unfit
from towerpace.scenario.schema import Family
from towerpace.scenario.schema.setting import LOSSES
from towerpace.scenario.spread_rows import Picked, Row, Run
from towerpace.units import DAY_MIN, Flags, Floats, Ints

PICKED = ("remake_days", "later_found_days", "misfit_min")  # of lost panels, of those found later, of misfits


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
        """Draw what befalls every panel; of those that are set or known to be lost that is known."""
        losses, seen = self.losses(streams, known), known.seen
        into.skip[self.normal[losses.unfit & self.passes]] = True
        into.skip[: len(self._remedies)] |= self._remedies
        lost, misfits = np.flatnonzero(losses.lost), np.flatnonzero(losses.misfit)
        lead, extra = self._lead_and_extra_min(losses, lost, misfits, streams=streams, seen=seen)
        steps = self._chains[np.where(losses.broken[lost], 1, np.where(losses.later[lost], 2, 0)), lost]
        first = steps[:, 0]
        into.skip[steps[(first != NONE)[:, None] & (steps != NONE)]] = False
        into.work[first[first != NONE]] = lead[lost[first != NONE]]
        sets = np.where(losses.unfit[misfits], self.set_if_unfit[misfits], self.normal[misfits])
        sets = np.where(losses.broken[misfits], self.set_if_broken[misfits], sets)
        if self.gathered is not None:
            together, again = self.gathered.decide(into, losses.unfit | losses.broken, lead, seen)
            _, of_misfits, of_together = np.intersect1d(misfits, together, return_indices=True)
            sets[of_misfits] = again[of_together]
        into.work[sets] += extra

    def losses(self, streams: Streams, known: Known = NOTHING_KNOWN) -> Losses:
        """Rejected or broken on the way, else broken in handling, else later: each by a draw of its own.

        A panel that is left out to the end has no steps for a break later, as nobody works there any more.
        """
        chances, seen = self._chances_given(known, streams), known.seen
        numbers = self._numbers.drawn(streams).reshape(len(self.stated), len(self.items))
        lots = dict(zip(self.stated, numbers, strict=True))
        happens = partial(self._happens, lots, chances)
        unfit = happens("reject_chance") | happens("transit_break_chance")
        broken = happens("handling_break_chance")
        if seen is not None:
            unfit, broken = unfit & ~seen.begun[self.normal], broken & ~seen.done[self.normal]
            lost, known_unfit = lost_and_unfit(self.normal, seen)
            unfit, broken = np.where(lost, known_unfit, unfit), np.where(lost, ~known_unfit, broken)
        broken &= ~unfit
        may_be_later = self.later[:, 0] != NONE
        later = happens("later_break_chance")
        if seen is not None:
            later |= seen.begun[self.later[:, 0]]
        later &= ~unfit & ~broken & may_be_later
        return Losses(unfit, broken, later, happens("misfit_chance"))

    def from_stock(self, lost: Ints) -> Ints:
        """Those of the lost panels replaced from spares: the first of each family, in the order given."""
        family = self.family[lost]
        return np.concatenate([lost[family == k][: of.spares] for k, of in enumerate(self.families)])

    @cached_property
    def _chains(self) -> Ints:
        """Steps after each loss, (3, k, m), of one width: unfit, broken, later; padded with -1."""
        chains = self.unfit, self.broken, self.later
        width = max(steps.shape[1] for steps in chains)
        padded = [
            np.pad(steps, ((0, 0), (0, width - steps.shape[1])), constant_values=NONE) for steps in chains
        ]
        return np.array(padded)

    @cached_property
    def _remedies(self) -> Flags:
        """Whether a step is done only after a loss, from step 0 to the last that is."""
        steps = self._chains.ravel()
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
        """The same in one trial, with what the site has taught, and has not found. [-]"""
        chances = self._chances
        if known.chances is not None:
            columns = [family.column for family in self.families]
            given = known.chances.given(self.stated, trade=self.trade, columns=columns, streams=streams)
            chances = {key: of_families[self.family] for key, of_families in given.items()}
        later = "later_break_chance"
        if known.seen is not None and later in chances:
            return chances | {later: chances_not_found(chances[later], self._found_below(known.seen))}
        return chances

    def _drawn(self, key: str, streams: Streams) -> Floats:
        """The number of every panel under one purpose, (k,). [-]"""
        drawn: Floats = by_item(streams(self._stream(key)), self.items)
        return drawn

    def _stream(self, key: str) -> str:
        return f"{key} of {self.trade}"

    @cached_property
    def _numbers(self) -> Row:
        """The number of every panel under each chance that some family has."""
        return Row([Run(self.items, None, self._stream(key)) for key in self.stated])

    def _happens(self, lots: dict[str, Floats], chances: dict[str, Floats], key: str) -> Flags:
        if key not in chances:
            return np.zeros(len(self.items), dtype=np.bool_)
        return lots[key] < chances[key]

    def _found_below(self, seen: Seen) -> Floats:
        """Share of the later breaks of each panel that would have been found by now, (k,). [-]"""
        since = np.where(self.later[:, 0] == NONE, NONE, seen.waited(self.later[:, 0]))
        found = np.zeros(len(since))
        for k in np.flatnonzero(since > 0).tolist():
            days = self.families[self.family[k]].later_found_days
            found[k] = 0.0 if days is None else share_below(days, int(since[k]) / DAY_MIN)
        return found

    def _lead_and_extra_min(
        self, losses: Losses, lost: Ints, misfits: Ints, *, streams: Streams, seen: Seen | None
    ) -> tuple[Ints, Ints]:
        """Minutes from each loss, or from closing-in, until the new one is there, (k,); of misfits. [min]"""
        later = np.flatnonzero(losses.later)
        remade, found, extra = self._picked_of(lost, later, misfits, streams=streams)
        stocked = lost
        if seen is not None:
            leads = self._leads(losses, lost, seen)
            spent = np.where((leads == NONE) | ~seen.timed[leads], 0, seen.spent[leads])
            made = np.where(losses.later[lost], 0, spent)
            self._wait_on("remake_days", lost, remade, streams, waited=made)
            stocked = first_known(lost, leads, seen)
        days = np.zeros(len(self.items))
        days[lost] = remade
        stocked = self.from_stock(stocked)
        days[stocked] = self._spare_days[self.family[stocked]]
        if seen is not None:
            after_found = spent[np.isin(lost, later)] - np.rint(days[later] * DAY_MIN).astype(np.int64)
            waited = np.maximum(seen.waited(self.later[later, 0]), after_found)
            self._wait_on("later_found_days", later, found, streams, waited=waited)
        days[later] += found
        return np.rint(days * DAY_MIN).astype(np.int64), np.rint(extra).astype(np.int64)

    @cached_property
    def _spare_days(self) -> Floats:
        return np.array([float(family.spare_days or 0.0) for family in self.families])

    def _picked_of(self, *panels: *tuple[Ints, Ints, Ints], streams: Streams) -> list[Floats]:
        """Days of lost panels and until later ones are found, and minutes of misfits, as families say."""
        items = np.concatenate([self.items[own] for own in panels])
        runs = [self.family[own] + k * len(self.families) for k, own in enumerate(panels)]
        drawn = self._picked.drawn(streams, items, runs=np.concatenate(runs))
        return np.split(drawn, np.cumsum([len(own) for own in panels[:-1]]))

    @cached_property
    def _picked(self) -> Picked:
        return Picked(
            [(self._stream(key), getattr(family, key)) for key in PICKED for family in self.families]
        )

    def _leads(self, losses: Losses, lost: Ints, seen: Seen) -> Ints:
        """The step that makes each lost panel anew, (n,); of those that are gathered the one begun."""
        leads = np.where(losses.unfit, self.unfit[:, 0], np.where(losses.broken, self.broken[:, 0], NONE))
        leads = np.where(losses.later, self.later[:, 0], leads)[lost]
        if self.gathered is not None:
            leads = np.where(leads == NONE, self.gathered.leads_seen(lost, seen), leads)
        return leads

    def _wait_on(self, key: str, panels: Ints, days: Floats, streams: Streams, *, waited: Ints) -> None:
        """Set days right, in place, of some panels that have waited and are waited for still, (n,). [d]

        waited : (n,), 0 or less where nothing is known. [min]
        """
        some = np.flatnonzero(waited > 0)
        if len(some):
            u = self._drawn(key, streams)[panels[some]]
        for at, k in enumerate(some.tolist()):
            spread = getattr(self.families[self.family[panels[k]]], key)
            days[k] = quantile_above(spread, float(u[at]), int(waited[k]) / DAY_MIN)

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
