"""What the user says: the scenario file and its tables, read and checked before anything runs."""

from towerpace.scenario.assumptions import Assumption
from towerpace.scenario.levels import Levels
from towerpace.scenario.load import Scenario, load
from towerpace.scenario.quantities import Value
from towerpace.scenario.schema import Settings
from towerpace.scenario.spreads import Spread

__all__ = ["Assumption", "Levels", "Scenario", "Settings", "Spread", "Value", "load"]
