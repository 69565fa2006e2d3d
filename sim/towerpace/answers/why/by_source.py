"""What each source of spread adds to the controlling chain of a trial, and to the resources it runs through.

A trial is drawn once more without each source. A step that is left out then is there only because of the
source: all its time counts. Any other counts with the minutes by which it lasts longer, and the first of the
chain with those by which its date is later. So no name is read, and a new law of chance needs nothing here.
Weather counts with the minutes that it stops.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from towerpace.answers.bid.sources_of_spread import WEATHER, sources_of, without
from towerpace.answers.ledger.waits import AGAIN, Minutes
from towerpace.answers.ledger.waits import WEATHER as WEATHER_CAUSES
from towerpace.answers.prepare import Prepared
from towerpace.answers.why.chain import Link
from towerpace.draws import Chooser, Draw
from towerpace.engine.diary import Diary
from towerpace.plan.arrays import NONE
from towerpace.plan.chance import Drawn, DrawnTogether
from towerpace.plan.model import Plan
from towerpace.plan.site.absences import TIME_TO_FAILURE
from towerpace.units import DAY_MIN, Flags, Floats, Ints

STOPPED_BY_WEATHER = (*WEATHER_CAUSES, AGAIN)


@dataclass(frozen=True)
class TracedDraw(Draw):
    """A draw, and what it would be without each source. apart : in the order of the sources."""

    apart: tuple[Drawn, ...] = ()


@dataclass(frozen=True)
class Traced(Chooser):
    """Draws every trial as it is, and once more without each source."""

    apart: tuple[Chooser, ...] = ()

    def draw(self, seed: int, trial: int) -> TracedDraw:
        """The same draw as without tracing."""
        return _traced(super().draw(seed, trial), [chooser.numbers(seed, trial) for chooser in self.apart])

    def draws(self, seed: int, trials: range, *, into: DrawnTogether) -> list[Draw]:
        """The same of some trials together."""
        together = [
            chooser.numbers_together(seed, trials, into=DrawnTogether.room_for(len(trials), self.plan.n))
            for chooser in self.apart
        ]
        draws = super().draws(seed, trials, into=into)
        return [_traced(draw, [rid.each[k] for rid in together]) for k, draw in enumerate(draws)]


def _traced(whole: Draw, apart: Sequence[Drawn]) -> TracedDraw:
    return TracedDraw(whole.work, whole.date, whole.skip, whole.hours, whole.pins, apart=tuple(apart))


def traced(ready: Prepared) -> Traced:
    """The draws of a scenario, each once more without every source of spread."""
    own = ready.chooser
    apart = tuple(without(ready, [source]) for source in sources_of(ready))
    return Traced(own.plan, own.laws, own.weather, own.known, apart=apart)


class BySource:
    """Days by source of one plan; what does not change from trial to trial is prepared once."""

    def __init__(self, plan: Plan, sources: Sequence[str], causes: Sequence[str]) -> None:
        self.plan, self.sources = plan, tuple(sources)
        self._weather = [k for k, cause in enumerate(causes) if cause in STOPPED_BY_WEATHER]
        shift_min = np.array([(np.diff(w.shifts).sum() if len(w.shifts) else DAY_MIN) for w in plan.windows])
        last = np.array([(np.max(w.shifts) if len(w.shifts) else DAY_MIN) for w in plan.windows])
        # A minute inside the shift brings the nights and closed days that fall to it.
        of_window = np.append(last / (DAY_MIN * np.maximum(shift_min, 1)), 1 / DAY_MIN)
        self._days = of_window[np.where(plan.window == NONE, len(plan.windows), plan.window)]
        tags = [plan.tags(step) for step in range(plan.n)]
        # When a unit fails is a moment, and no delay.
        self._delays = np.array([t.kind != TIME_TO_FAILURE for t in tags])
        fronts: dict[object, int] = {}
        self._front = np.array([fronts.setdefault((t.trade, t.level, t.zone), len(fronts)) for t in tags])
        known = plan.give_taker.values != NONE
        self._giver = plan.give_taker.owners[known]
        self._taker, self._pool = plan.give_taker.values[known], plan.give_pool.values[known]
        self._quantity = plan.give_quantity.values[known]

    def of(
        self,
        draw: TracedDraw,
        diary: Diary,
        *,
        links: Sequence[Link],
        spent: Ints,
        minutes: Minutes,
        pools: Flags,
    ) -> tuple[Floats, Floats]:
        """Days on the chain and days through its resources off it, (n_sources,) each. [d]

        spent : of every link by cause, (n_causes, k). pools : through which the chain runs, (n_pools,).
        """
        steps = np.array([link.step for link in links])
        off_chain = np.ones(self.plan.n, dtype=np.bool_)
        off_chain[steps] = False
        stopped = (minutes.waiting[self._weather] + minutes.doing[self._weather]).sum(axis=0) * self._days
        only_for = [rid.skip & ~draw.skip for rid in draw.apart]
        planned = ~np.any(only_for, axis=0)
        on_chain, through = np.zeros((2, len(self.sources)))
        for k, (source, rid) in enumerate(zip(self.sources, draw.apart, strict=True)):
            if source == WEATHER:
                in_links = spent[self._weather].sum(axis=0) * self._days[steps]
                on_chain[k] = in_links[planned[steps]].sum()
                added = stopped * planned
            else:
                added = (draw.work - rid.work) * self._days * (self._delays & planned & ~draw.skip)
                on_chain[k] = added[steps].sum() + self._whole(links, only_for[k])
                if planned[steps[0]]:
                    on_chain[k] += (draw.date[steps[0]] - rid.date[steps[0]]) / DAY_MIN
                added = np.where(only_for[k], (diary.finished - diary.started) / DAY_MIN, added)
            through[k] = self._held(
                draw,
                diary,
                added=added * off_chain,
                only=only_for[k] & off_chain,
                since=links[0].since,
                pools=pools,
            )
        return on_chain, through

    def _whole(self, links: Sequence[Link], only: Flags) -> float:
        """Days of the links that are there only because of a source. [d]"""
        return sum(link.finished - link.since for link in links if only[link.step]) / DAY_MIN

    def _held(
        self, draw: Draw, diary: Diary, *, added: Floats, only: Flags, since: int, pools: Flags
    ) -> float:
        """Days for which a source held the resource of the chain that it burdens most, by its units. [d]"""
        taken = diary.started[self._taker]
        counts = pools[self._pool] & (taken >= since) & ~draw.skip[self._taker]
        counts &= ~draw.skip[self._giver] & (diary.finished[self._giver] >= 0)
        taker, giver, taken = self._taker[counts], self._giver[counts], taken[counts].astype(np.int64)
        given = diary.finished[giver].astype(np.int64)
        order = np.lexsort((diary.started, self._front))
        key = self._front[order] * np.int64(2**32) + diary.started[order]
        up_to = np.concatenate(([0.0], np.cumsum(added[order])))
        front = self._front[taker] * np.int64(2**32)
        inside = up_to[np.searchsorted(key, front + given)] - up_to[np.searchsorted(key, front + taken)]
        days = np.where(taker == giver, added[taker], inside)
        days = np.where(only[taker], (given - taken) / DAY_MIN, days)
        weights = days * self._quantity[counts]
        held = np.bincount(self._pool[counts], weights=weights, minlength=len(pools))
        return float((held / np.maximum(self.plan.pools.units, 1)).max(initial=0.0))
