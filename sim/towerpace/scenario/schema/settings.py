"""The whole scenario file."""

from typing import Annotated, Any

from pydantic import Field

from towerpace.scenario.fields import (
    Table,
)
from towerpace.scenario.schema.activities import Activity, MockUp, Risk, WaterTest
from towerpace.scenario.schema.cost import Cost
from towerpace.scenario.schema.promises import ClosingIn, Contract
from towerpace.scenario.schema.setting import Crane, Family, LeaveOuts
from towerpace.scenario.schema.supply import Delivery, Factory, Hoist, Storage, Yard
from towerpace.scenario.schema.tower import Calendar, Structure, Tower
from towerpace.scenario.schema.trades import Correlation, Policy, Resource, Trade
from towerpace.scenario.schema.weather import Limit, Weather
from towerpace.scenario.words import Words


class Settings(Table):
    """A whole scenario file; named tables keep the order of the file.

    setup, candidate : named changes, dotted keys to values; checked when they are laid over the rest.
    """

    tower: Tower
    calendar: Annotated[dict[str, Calendar], Field(min_length=1), Words("tables [calendar.NAME]")]
    weather: Weather | None = None
    limit: dict[str, Limit] = Field(default_factory=dict)
    structure: Structure
    resource: Annotated[dict[str, Resource], Field(min_length=1), Words("tables [resource.NAME]")]
    storage: Storage | None = None
    crane: Crane | None = None
    hoist: Hoist | None = None
    delivery: Delivery | None = None
    yard: Yard | None = None
    factory: Factory | None = None
    family: dict[str, Family] = Field(default_factory=dict)
    trade: Annotated[dict[str, Trade], Field(min_length=1), Words("tables [trade.NAME]")]
    closing_in: ClosingIn | None = None
    activity: dict[str, Activity] = Field(default_factory=dict)
    mock_up: MockUp | None = None
    water_test: WaterTest | None = None
    risk: tuple[Risk, ...] = ()
    leave_outs: LeaveOuts | None = None
    policy: Policy = Policy()
    correlation: tuple[Correlation, ...] = ()
    contract: dict[str, Contract] = Field(default_factory=dict)
    cost: Cost | None = None
    setup: dict[str, dict[str, Any]] = Field(default_factory=dict)
    candidate: dict[str, dict[str, Any]] = Field(default_factory=dict)
