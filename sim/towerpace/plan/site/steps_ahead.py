"""How many steps the fronts of a plan make, foretold from the first of them: too many are not written."""

from __future__ import annotations

import numpy as np

from towerpace.plan.site.drafting import Draft, TooManyStepsError
from towerpace.plan.site.fronts import Front
from towerpace.plan.site.sequence import Precedence
from towerpace.scenario.schema import PanelTrade
from towerpace.scenario.size_rules import MOST_STEPS

# From which share of the panels or fronts on the whole is foretold, and how many times the bound it must be
# then: fronts are not all alike, and what the bound allows is never refused.
SURELY = ((0.02, 1.5), (0.005, 2.0))
LEVELS = ("tower", "levels")


class StepsAhead:
    """Watches how many steps the fronts make, by their panels and by their number."""

    def __init__(self, draft: Draft, order: Precedence) -> None:
        self._draft, self._before = draft, draft.next_step
        settings, counts = draft.settings, order.levels.counts
        trades = [trade for trade in settings.trade.values() if isinstance(trade, PanelTrade)]
        families = [settings.family[name] for trade in trades for name in trade.families]
        self._panels = [
            sum(int(counts[family.column][front.spot]) for family in families) for front in order.fronts
        ]
        self._whole, self._done = np.array([sum(self._panels), len(order.fronts)]), np.zeros(2)

    def look(self, front: Front) -> None:
        """After a front was written: raises `TooManyStepsError` where the plan would have too many steps."""
        self._done += self._panels[front.number], 1
        if self._draft.next_step > MOST_STEPS:
            raise TooManyStepsError(LEVELS, f"{self._draft.next_step:,} steps or more")
        there = self._whole > 0
        share = float((self._done[there] / self._whole[there]).max())
        foretold = self._before + (self._draft.next_step - self._before) / share
        if any(share >= least and foretold > times * MOST_STEPS for least, times in SURELY):
            raise TooManyStepsError(LEVELS, f"about {foretold / 1e6:.1f} million steps")
