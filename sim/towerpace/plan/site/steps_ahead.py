"""How many steps the fronts of a plan make, foretold from the first of them: too many are not written."""

from __future__ import annotations

from towerpace.plan.site.drafting import Draft, TooManyStepsError
from towerpace.plan.site.fronts import Front
from towerpace.plan.site.sequence import Precedence
from towerpace.scenario.schema import PanelTrade
from towerpace.scenario.size_rules import MOST_STEPS

TOLD_FROM = 0.02  # share of the fronts' panels and trades from which on the whole is foretold
SURELY = 1.5  # times the bound: fronts are not all alike, and what the bound allows is never refused
LEVELS = ("tower", "levels")


class StepsAhead:
    """Watches how many steps the fronts make, by their panels and trades."""

    def __init__(self, draft: Draft, order: Precedence) -> None:
        self._draft, self._before = draft, draft.next_step
        settings, counts = draft.settings, order.levels.counts
        trades = [trade for trade in settings.trade.values() if isinstance(trade, PanelTrade)]
        families = [settings.family[name] for trade in trades for name in trade.families]
        n_trades = len(settings.trade)
        self._of = [
            n_trades + sum(int(counts[family.column][front.spot]) for family in families)
            for front in order.fronts
        ]
        self._whole, self._done = sum(self._of), 0

    def look(self, front: Front) -> None:
        """After a front was written: raises `TooManyStepsError` where the plan would have too many steps."""
        self._done += self._of[front.number]
        if self._draft.next_step > MOST_STEPS:
            raise TooManyStepsError(LEVELS, f"{self._draft.next_step:,} steps or more")
        share = self._done / self._whole
        foretold = self._before + (self._draft.next_step - self._before) / share
        if share >= TOLD_FROM and foretold > SURELY * MOST_STEPS:
            raise TooManyStepsError(LEVELS, f"about {foretold / 1e6:.1f} million steps")
