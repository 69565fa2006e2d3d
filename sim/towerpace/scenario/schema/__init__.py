"""The vocabulary of a scenario file: its tables and keys.

Each table checks its own keys. What ties keys together (references, dates, cycles) is checked on the raw file
by the modules of rules, so that a wrong type in one table does not hide a wrong name in another.
"""

from towerpace.scenario.schema.cost import Cost
from towerpace.scenario.schema.promises import ClosingIn, Contract
from towerpace.scenario.schema.setting import Crane, Family
from towerpace.scenario.schema.settings import Settings
from towerpace.scenario.schema.supply import Delivery, Hoist, Storage
from towerpace.scenario.schema.tower import Calendar, ClosedSpan, Structure, Tower, Week
from towerpace.scenario.schema.trades import (
    After,
    Correlation,
    GangTrade,
    Learning,
    PanelTrade,
    Policy,
    Resource,
    Trade,
    TradeTable,
)
from towerpace.scenario.schema.weather import LIMIT_VARIABLES, Limit, Weather

__all__ = [
    "LIMIT_VARIABLES",
    "After",
    "Calendar",
    "ClosedSpan",
    "ClosingIn",
    "Contract",
    "Cost",
    "Correlation",
    "Crane",
    "Delivery",
    "Family",
    "GangTrade",
    "Hoist",
    "Learning",
    "Limit",
    "PanelTrade",
    "Policy",
    "Resource",
    "Settings",
    "Storage",
    "Structure",
    "Tower",
    "Trade",
    "TradeTable",
    "Weather",
    "Week",
]
