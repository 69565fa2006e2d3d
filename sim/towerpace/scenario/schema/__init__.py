"""The vocabulary of a scenario file: its tables and keys.

Each table checks its own keys. What ties keys together (references, dates, cycles) is checked on the raw file
by the modules of rules, so that a wrong type in one table does not hide a wrong name in another.
"""

from towerpace.scenario.schema.activities import (
    LEVEL_WORDS,
    Activity,
    Concrete,
    Condition,
    MockUp,
    Risk,
    WaterTest,
)
from towerpace.scenario.schema.cost import Cost
from towerpace.scenario.schema.decisions import Decision
from towerpace.scenario.schema.level_keys import LevelKeys, ZoneKeys
from towerpace.scenario.schema.methods import FLOOR_CRANE, Method
from towerpace.scenario.schema.promises import BidDocument, ClosingIn, Contract
from towerpace.scenario.schema.resources import Breakdown, Resource, UnitDates
from towerpace.scenario.schema.setting import Crane, Family, LeaveOuts
from towerpace.scenario.schema.settings import Settings
from towerpace.scenario.schema.supply import Delivery, Factory, Hoist, Storage, Yard
from towerpace.scenario.schema.tower import (
    Calendar,
    ClosedSpan,
    DatedHours,
    OtherWeek,
    Structure,
    Tower,
    Week,
)
from towerpace.scenario.schema.trades import (
    MONTHS,
    After,
    Correlation,
    GangTrade,
    Learning,
    LongShift,
    PanelTrade,
    PieceClass,
    Policy,
    Returns,
    Trade,
    TradeTable,
)
from towerpace.scenario.schema.weather import LIMIT_VARIABLES, Limit, Weather

__all__ = [
    "FLOOR_CRANE",
    "LEVEL_WORDS",
    "LIMIT_VARIABLES",
    "MONTHS",
    "Activity",
    "After",
    "BidDocument",
    "Breakdown",
    "Calendar",
    "ClosedSpan",
    "ClosingIn",
    "Concrete",
    "Condition",
    "Contract",
    "Correlation",
    "Cost",
    "Crane",
    "DatedHours",
    "Decision",
    "Delivery",
    "Factory",
    "Family",
    "GangTrade",
    "Hoist",
    "Learning",
    "LeaveOuts",
    "LevelKeys",
    "Limit",
    "LongShift",
    "Method",
    "MockUp",
    "OtherWeek",
    "PanelTrade",
    "PieceClass",
    "Policy",
    "Resource",
    "Returns",
    "Risk",
    "Settings",
    "Storage",
    "Structure",
    "Tower",
    "Trade",
    "TradeTable",
    "UnitDates",
    "WaterTest",
    "Weather",
    "Week",
    "Yard",
    "ZoneKeys",
]
