"""Fronts of a panel trade: supplied crate by crate, set panel by panel."""

from __future__ import annotations

from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import Front
from towerpace.plan.site.sequence import Sequence
from towerpace.plan.site.setting import Setting
from towerpace.plan.site.supply import Supply
from towerpace.scenario.schema import PanelTrade


class PanelFronts:
    """Writes the fronts of one panel trade into a draft."""

    def __init__(self, draft: Draft, *, name: str, trade: PanelTrade, sequence: Sequence) -> None:
        self._draft, self._name, self._trade, self._sequence = draft, name, trade, sequence
        self._supply = Supply(draft, name, trade, sequence)
        self._setting = Setting(draft, name, trade, sequence)

    def add(self, front: Front, *, rank: int) -> None:
        """One front, from its trucks to its last panel."""
        after = self._sequence.waits(self._trade, front, draft=self._draft, name=self._name)
        supplied = self._supply.add(front, rank=rank)
        self._setting.add(front, supplied, after=after, rank=rank)

    def finish(self) -> None:
        """What can only be written when all fronts are."""
        self._setting.finish()
