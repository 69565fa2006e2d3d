"""Which panels are lost, why, and what comes in their place: one draw for all panels of a trade."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from typing import ClassVar

import numpy as np

from towerpace.compiling.addresses import Laid
from towerpace.compiling.jit import numba
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
from towerpace.plan.site.losses_drawn import CHANCES, SPREADS, LossArrays, lose
from towerpace.plan.site.losses_seen import chances_not_found, first_known, lost_and_unfit
from towerpace.scenario.schema import Family
from towerpace.scenario.schema.setting import LOSSES
from towerpace.scenario.spread_rows import Row, Run, may_count
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
        """Draw what befalls every panel; of those that are set or known to be lost that is known."""
        if self.takes_many(known) and may_count(streams):
            laid, counters = self._laid, streams.counters(self._row.purposes)
            skip, work = np.atleast_2d(into.skip), np.atleast_2d(into.work)
            lose(laid.table, counters, np.empty(self._room), skip, work)
            return
        losses, seen = self.losses(streams, known), known.seen
        into.skip[self.normal[losses.unfit & self.passes]] = True
        into.skip[: len(self._remedies)] |= self._remedies
        lead = self._lead_min(losses, streams, seen)
        for steps, happened in zip(self._chains, (losses.unfit, losses.broken, losses.later), strict=True):
            panels = np.flatnonzero(happened & (steps[:, 0] != NONE))
            needed = steps[panels]
            into.skip[needed[needed != NONE]] = False
            into.work[needed[:, 0]] = lead[panels]
        sets = np.where(losses.unfit, self.set_if_unfit, self.normal)
        sets = np.where(losses.broken, self.set_if_broken, sets)
        if self.gathered is not None:
            together, again = self.gathered.decide(into, losses.unfit | losses.broken, lead, seen)
            sets[together] = again
        self._add_misfits(into, losses, sets, streams)

    def takes_many(self, known: Known) -> bool:
        """In compiled code, while nothing is known of the panels and none are gathered."""
        alone = known == NOTHING_KNOWN and self.gathered is None
        return alone and numba() is not None and self._row.is_compiled

    @cached_property
    def _row(self) -> Row:
        """A number of every panel for each chance; then the spreads of the families, for some panels."""
        none = np.empty(0, dtype=np.int64)
        numbers = [
            Run(self.items if key in self.stated else none, None, self._stream(key)) for key in CHANCES
        ]
        spreads = [
            Run(none, getattr(family, key), self._stream(key)) for key in SPREADS for family in self.families
        ]
        return Row([*numbers, *spreads])

    @property
    def _room(self) -> tuple[int, int]:
        return len(CHANCES) + 2, max(len(self.items), len(self.families), self._row.room)

    @cached_property
    def _laid(self) -> Laid[LossArrays]:
        return Laid(self._arrays)

    @cached_property
    def _arrays(self) -> LossArrays:
        k, width = len(self.items), max(steps.shape[1] for steps in self._chains)
        chain = np.full((len(self._chains), k, width), NONE)
        for own, steps in zip(chain, self._chains, strict=True):
            own[:, : steps.shape[1]] = steps
        no_chance = np.zeros(len(self.families))
        return LossArrays(
            self._row.arrays,
            chance=np.array([self.stated.get(key, no_chance) for key in CHANCES]),
            spares=np.array([family.spares for family in self.families]),
            spare_days=np.array([float(family.spare_days or 0.0) for family in self.families]),
            family=self.family,
            item=self.items,
            normal=self.normal,
            passes=self.passes,
            set_again=np.array([self.set_if_unfit, self.set_if_broken]),
            chain=chain,
            remedy=np.flatnonzero(self._remedies),
        )

    def losses(self, streams: Streams, known: Known = NOTHING_KNOWN) -> Losses:
        """Rejected or broken on the way, else broken in handling, else later: each by a draw of its own.

        A panel that is left out to the end has no steps for a break later, as nobody works there any more.
        """
        chances, seen = self._chances_given(known, streams), known.seen
        happens = partial(self._happens, chances=chances, streams=streams)
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
        """The same in one trial, with what the site has taught, and has not found. [-]"""
        chances = self._chances
        if known.chances is not None:
            columns = [family.column for family in self.families]
            given = known.chances.given(self.stated, trade=self.trade, columns=columns, streams=streams)
            chances = {key: of_families[self.family] for key, of_families in given.items()}
        later = "later_break_chance"
        if known.seen is not None and later in chances:
            waited = np.where(self.later[:, 0] == NONE, NONE, known.seen.waited(self.later[:, 0]))
            found = self.found_below(waited)
            return chances | {later: chances_not_found(chances[later], found)}
        return chances

    def _drawn(self, key: str, streams: Streams) -> Floats:
        """The number of every panel under one purpose, (k,). [-]"""
        drawn: Floats = by_item(streams(self._stream(key)), self.items)
        return drawn

    def _stream(self, key: str) -> str:
        return f"{key} of {self.trade}"

    def _happens(self, key: str, *, chances: dict[str, Floats], streams: Streams) -> Flags:
        if key not in chances:
            return np.zeros(len(self.items), dtype=np.bool_)
        return self._drawn(key, streams) < chances[key]

    def found_below(self, waited: Ints) -> Floats:
        """Share of the later breaks of each panel found in so many minutes, (k,). [-]"""
        found = np.zeros(len(waited))
        for k in np.flatnonzero(waited > 0).tolist():
            days = self.families[self.family[k]].later_found_days
            found[k] = 0.0 if days is None else share_below(days, int(waited[k]) / DAY_MIN)
        return found

    def _lead_min(self, losses: Losses, streams: Streams, seen: Seen | None) -> Ints:
        """Minutes from each loss, or from closing-in, until the new panel is at the gate, (k,). [min]"""
        lost, later = np.flatnonzero(losses.lost), np.flatnonzero(losses.later)
        remade, found = self._quantiles("remake_days", lost, streams), np.zeros(0)
        if len(later):
            found = self._quantiles("later_found_days", later, streams)
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
        spare_days = np.array([float(family.spare_days or 0.0) for family in self.families])
        days[stocked] = spare_days[self.family[stocked]]
        if seen is not None:
            after_found = spent[np.isin(lost, later)] - np.rint(days[later] * DAY_MIN).astype(np.int64)
            waited = np.maximum(seen.waited(self.later[later, 0]), after_found)
            self._wait_on("later_found_days", later, found, streams, waited=waited)
        days[later] += found
        return np.rint(days * DAY_MIN).astype(np.int64)

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
