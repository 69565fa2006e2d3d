"""Which of the panels lost on a level share a visit, drawn with the losses themselves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.chance import Drawn
from towerpace.plan.seen import Seen
from towerpace.units import DAY_MIN, Flags, Ints

LEAD, SHIFT, AGAIN = 0, 2, 3  # places in the chain of a panel: made anew, up, crane shifted, set


@dataclass(frozen=True)
class Gathered:
    """Steps of the visits to every level, and when one is full.

    floor, front : (k,) where each panel stands; -1 for one that nobody gathers for.
    chains : (n_visits, k, 4) steps of a panel if it is set on that visit; padded with -1.
    arrive, along : (n_visits, n_fronts, m) steps of gang and crane on a front, if it is the first of a visit,
        and if they come along the level from another; padded with -1.
    most : panels of a visit. days : between the first and the last new panel of a visit. [d]

    Panels of a level are gathered in the order in which they would come if all had been lost on one day. The
    last visit takes whatever is left, so that none is without.
    """

    floor: Ints
    front: Ints
    chains: Ints
    arrive: Ints
    along: Ints
    most: int
    days: float

    def visit_of(self, lost: Flags, lead_min: Ints, seen: Seen | None = None) -> tuple[Ints, Ints]:
        """Gathered panels that are lost, in their order on each front, and the visit of each, (n,) each.

        Those of a visit for which a panel is being made keep to it.
        """
        panels = np.flatnonzero(lost & (self.floor != NONE))
        visits = np.zeros(len(panels), dtype=np.int64)
        floor, visit, inside, first_min = NONE, 0, 0, 0
        for at in np.lexsort((panels, lead_min[panels], self.floor[panels])).tolist():
            panel = panels[at]
            if self.floor[panel] != floor:
                floor, visit, inside, first_min = int(self.floor[panel]), 0, 0, int(lead_min[panel])
            full = inside == self.most or lead_min[panel] - first_min > self.days * DAY_MIN
            if full and visit < len(self.chains) - 1:
                visit, inside, first_min = visit + 1, 0, int(lead_min[panel])
            visits[at], inside = visit, inside + 1
        if seen is not None and len(panels):
            visits = self._as_begun(panels, visits, seen)
        return panels, visits

    def leads_seen(self, panels: Ints, seen: Seen) -> Ints:
        """The step that makes each panel anew, if it has begun, (n,); else -1."""
        leads = self.chains[:, panels, LEAD]
        begun = (leads != NONE) & seen.begun[leads]
        return np.where(begun.any(axis=0), leads[begun.argmax(axis=0), np.arange(len(panels))], NONE)

    def _as_begun(self, panels: Ints, visits: Ints, seen: Seen) -> Ints:
        """Visits as the site has begun them; who is lost later comes on none that is under way, (n,)."""
        steps = self.chains[:, panels]
        begun = (steps[..., LEAD] != NONE) & seen.begun[steps[..., LEAD]]
        back = (steps[..., AGAIN] != NONE) & seen.begun[steps[..., AGAIN]]
        known, floor = begun.any(axis=0), self.floor[panels]
        settled = np.where(known, begun.argmax(axis=0), visits)
        for level in np.unique(floor[~known]).tolist():
            under_way = np.flatnonzero(back[:, floor == level].any(axis=1))
            first = min(int(under_way.max(initial=-1)) + 1, len(self.chains) - 1)
            open_ = ~known & (floor == level)
            settled[open_] = np.maximum(settled[open_], first)
        return settled

    def decide(self, into: Drawn, lost: Flags, lead_min: Ints, seen: Seen | None = None) -> tuple[Ints, Ints]:
        """Let the visits take place that are needed; the lost panels, and the step that sets each again."""
        panels, visits = self.visit_of(lost, lead_min, seen)
        chains, fronts = self.chains[visits, panels], self.front[panels]
        _need(into, chains)
        # The crane is set up for the first panel of a front, and shifted for the others.
        first = _first_of(visits, fronts)
        shifts = chains[first, SHIFT]
        into.skip[shifts[shifts != NONE]] = True
        # It changes level for the first front, and goes along the level to the others.
        visit, front, floor = visits[first], fronts[first], self.floor[panels[first]]
        arrives = np.zeros(len(first), dtype=np.bool_)
        arrives[_first_of(visit, floor)] = True
        _need(into, self.arrive[visit[arrives], front[arrives]])
        _need(into, self.along[visit[~arrives], front[~arrives]])
        into.work[chains[:, LEAD]] = lead_min[panels]
        return panels, chains[:, AGAIN]

    @property
    def remedies(self) -> Ints:
        """All its steps: each is left out unless a loss asks for it."""
        steps = np.concatenate([table.ravel() for table in (self.chains, self.arrive, self.along)])
        asked: Ints = steps[steps != NONE]
        return asked

    @property
    def leads(self) -> Ints:
        """Steps that make the panels anew."""
        steps = self.chains[:, :, LEAD].ravel()
        made: Ints = steps[steps != NONE]
        return made


def _need(into: Drawn, steps: Ints) -> None:
    into.skip[steps[steps != NONE]] = False


def _first_of(visits: Ints, places: Ints) -> Ints:
    """Where each place of each visit comes first, (n,)."""
    pairs = np.stack((visits, places), axis=1)
    return np.unique(pairs, axis=0, return_index=True)[1]
