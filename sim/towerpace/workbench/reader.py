"""What the page keeps of a trial: when things were done, which costs next to nothing beside the playing."""

from __future__ import annotations

from towerpace.answers.estimates import or_later
from towerpace.answers.measures import OnceStamps, milestones_of
from towerpace.engine.diary import Diary
from towerpace.plan.site.tower import Tower
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import PanelTrade
from towerpace.units import Ints


class PageReader:
    """Reads diaries of one tower.

    Values of a trial, all int64 minutes, LATER where beyond the horizon: finish (), closing_in (n_levels,),
    done (n_trades, n_levels), fronts (n_levels, n_zones) when the trade that encloses the tower is done,
    once_begun and once_done (n_once,).
    """

    def __init__(self, tower: Tower, scenario: Scenario) -> None:
        self._tower, self._once = tower, OnceStamps(tower)
        self._encloses = tower.trades.index(enclosing_trade(scenario))

    def __call__(self, diary: Diary) -> dict[str, Ints]:
        """What is kept of one trial."""
        tower = self._tower
        stamps = milestones_of(tower, diary)
        last = tower.last[self._encloses]
        fronts = or_later(diary.finished)[last].reshape(len(tower.levels), len(tower.zones))
        closing_in = stamps["closing_in"]
        if not len(closing_in):
            closing_in = fronts.max(axis=1)
        kept = {"finish": stamps["finish"], "closing_in": closing_in, "done": stamps["done"]}
        return {**kept, "fronts": fronts, **self._once.of(diary.started, diary.finished)}


def enclosing_trade(scenario: Scenario) -> str:
    """The trade whose work the elevation shows: the first that sets panels, else the first of the file."""
    trades = scenario.settings.trade
    return next((name for name, trade in trades.items() if isinstance(trade, PanelTrade)), next(iter(trades)))


def level_milestone(scenario: Scenario) -> str:
    """What the dates of a level are, in words."""
    if scenario.settings.closing_in is not None:
        return "closing-in"
    return f"{enclosing_trade(scenario)} done"
