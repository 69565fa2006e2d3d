"""What each weather limit stops: panels being set, hoist trips, lifts of a crane, other work."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from towerpace.scenario.complaints import Path
from towerpace.scenario.schema import Settings

Operation = Literal["lifting panels", "hoist trips", "crane lifts", "other work"]


@dataclass(frozen=True, slots=True)
class LimitUse:
    """A place of the scenario that names limits: its path, what they stop, and their names."""

    path: Path
    operation: Operation
    limits: tuple[str, ...]


def limit_uses_of(settings: Settings) -> Iterator[LimitUse]:
    """Every place where limits are, or could be, named; families that no trade sets are left out."""
    for name in families_set(settings):
        yield LimitUse(("family", name, "limits"), "lifting panels", settings.family[name].limits)
    for name, method in settings.method.items():
        if method.limits is not None:
            yield LimitUse(("method", name, "limits"), "lifting panels", method.limits)
    if settings.hoist is not None:
        yield LimitUse(("hoist", "limits"), "hoist trips", settings.hoist.limits)
    for name, activity in settings.activity.items():
        operation: Operation = "other work" if activity.lift_min is None else "crane lifts"
        yield LimitUse(("activity", name, "limits"), operation, activity.limits)
    for name, trade in settings.trade.items():
        if trade.kind == "gang":
            yield LimitUse(("trade", name, "limits"), "other work", trade.limits)
    if settings.water_test is not None:
        yield LimitUse(("water_test", "limits"), "other work", settings.water_test.limits)


def families_set(settings: Settings) -> list[str]:
    """Families that a trade of kind panels sets, each once."""
    panel_trades = (trade for trade in settings.trade.values() if trade.kind == "panels")
    return list(dict.fromkeys(name for trade in panel_trades for name in trade.families))
