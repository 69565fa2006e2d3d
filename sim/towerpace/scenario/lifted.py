"""How the panels of a scenario are lifted in: by floor crane, or as the scenario says otherwise."""

from collections.abc import Iterator
from dataclasses import dataclass

from towerpace.scenario.levels import Levels
from towerpace.scenario.schema import FLOOR_CRANE, PanelTrade, Settings


@dataclass(frozen=True, slots=True)
class Lifted:
    """Panels of one family that one trade lifts in the same way.

    method : name of a way of lifting; None for the floor crane.
    """

    trade: str
    family: str
    method: str | None


def method_on(
    settings: Settings, levels: Levels, trade: PanelTrade, family: str, spot: tuple[int, int]
) -> str | None:
    """How panels of a family are lifted in on a front; None by the floor crane.

    A family comes before a row of the level table, and that before the trade. spot : floor and zone, from 0.
    """
    named = (settings.family[family].method, levels.method[spot[0]][spot[1]])
    method = next((name for name in named if name is not None), trade.method)
    return None if method == FLOOR_CRANE else method


def lifted(settings: Settings, levels: Levels) -> Iterator[Lifted]:
    """Every way in which some panels are lifted in, once for each trade and family."""
    for name, trade in settings.trade.items():
        if not isinstance(trade, PanelTrade):
            continue
        for family in trade.families:
            counts = levels.counts[settings.family[family].column]
            spots = [(i, j) for i, j in zip(*counts.nonzero(), strict=True)]
            ways = (method_on(settings, levels, trade, family, (int(i), int(j))) for i, j in spots)
            for method in dict.fromkeys(ways):
                yield Lifted(name, family, method)


def hours_and_limits(settings: Settings, panels: Lifted) -> tuple[str, tuple[str, ...]]:
    """Calendar and limits under which some panels are lifted."""
    calendar, limits = settings.trade[panels.trade].calendar, settings.family[panels.family].limits
    if panels.method is not None:
        terms = settings.method[panels.method]
        calendar = calendar if terms.calendar is None else terms.calendar
        limits = limits if terms.limits is None else terms.limits
    return calendar, limits
