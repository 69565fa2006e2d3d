"""Fronts of a panel trade: supplied crate by crate, set panel by panel."""

from __future__ import annotations

from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import Front
from towerpace.plan.site.sequence import Sequence
from towerpace.plan.site.setting import Setting
from towerpace.plan.site.supply import Supply
from towerpace.scenario.schema import PanelTrade


class PanelFronts:
    """Writes the fronts of one panel trade into a draft.

    Every panel trade counts its panels, crates, trucks and visits from 0. Lest item k of one draw what item k
    of another draws, all but the trade that stands first in the file draw from streams that bear their name.
    What is the site's, or named after the trade anyway (lags, risks, losses), is drawn alike for all.
    """

    def __init__(self, draft: Draft, *, name: str, trade: PanelTrade, sequence: Sequence) -> None:
        self._draft, self._name, self._trade, self._sequence = draft, name, trade, sequence
        own = draft if name == _first_panel_trade(sequence) else draft.owned_by(name)
        self._supply = Supply(own, name, trade, sequence)
        self._setting = Setting(own, name, trade, sequence)

    def add(self, front: Front, *, rank: int) -> None:
        """One front, from its trucks to its last panel."""
        after = self._sequence.waits(self._trade, front, draft=self._draft, name=self._name)
        supplied = self._supply.add(front, rank=rank)
        self._setting.add(front, supplied, after=after, rank=rank)

    def finish(self) -> None:
        """What can only be written when all fronts are."""
        self._setting.finish()


def _first_panel_trade(sequence: Sequence) -> str:
    """The one that stands first in the file: its numbers stay when another is added behind it."""
    trades = sequence.settings.trade
    return next(name for name, trade in trades.items() if isinstance(trade, PanelTrade))
