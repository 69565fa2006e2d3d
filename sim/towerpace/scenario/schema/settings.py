"""The whole scenario file."""

from typing import Annotated, Any

from pydantic import Field

from towerpace.scenario.fields import (
    Table,
)
from towerpace.scenario.meanings import key
from towerpace.scenario.schema.activities import Activity, MockUp, Risk, WaterTest
from towerpace.scenario.schema.cost import Cost
from towerpace.scenario.schema.decisions import Decision
from towerpace.scenario.schema.level_keys import LevelKeys
from towerpace.scenario.schema.methods import Method
from towerpace.scenario.schema.promises import BidDocument, ClosingIn, Contract
from towerpace.scenario.schema.resources import Resource
from towerpace.scenario.schema.setting import Crane, Family, LeaveOuts
from towerpace.scenario.schema.supply import Delivery, Factory, Hoist, Storage, Yard
from towerpace.scenario.schema.tower import Calendar, Structure, Tower
from towerpace.scenario.schema.trades import Correlation, Policy, Trade
from towerpace.scenario.schema.weather import Limit, Weather, Zone
from towerpace.scenario.words import Words


class Settings(Table):
    """A whole scenario file; named tables keep the order of the file."""

    tower: Annotated[Tower, key("The tower, its first day and its table of levels.", "[tower]")]
    calendar: Annotated[
        dict[str, Calendar],
        Field(min_length=1),
        Words("tables [calendar.NAME]"),
        key(
            "Working calendars: hours of the week and days without work, each under its name.",
            "[calendar.NAME]",
        ),
    ]
    weather: Annotated[
        Weather | None,
        key(
            "The weather record and how it is carried to the site; without the table no weather stops work.",
            "[weather]",
        ),
    ] = None
    limit: Annotated[
        dict[str, Limit],
        key(
            "Limits of weather, each under its name; trades, hoists and lifts name those they keep.",
            "[limit.NAME]",
        ),
    ] = Field(default_factory=dict)
    zone: Annotated[
        dict[str, Zone],
        key("What zones of the level table face, each under its name there.", "[zone.NAME]"),
    ] = Field(default_factory=dict)
    structure: Annotated[
        Structure,
        key("How the structure hands levels over; the planned days stand in the level table.", "[structure]"),
    ]
    level: Annotated[
        dict[str, LevelKeys],
        key(
            'Other numbers for single levels than the level table has: "12", several as "12 to 20", or all '
            'from one up as "from 20". Where two name the same, the later holds.',
            "[level.NAME]",
        ),
    ] = Field(default_factory=dict)
    resource: Annotated[
        dict[str, Resource],
        Field(min_length=1),
        Words("tables [resource.NAME]"),
        key(
            "Gangs, cranes, hoists, bays: how many there are and when, each kind under its name.",
            "[resource.NAME]",
        ),
    ]
    storage: Annotated[
        Storage | None,
        key("Room for crates on the levels; without the table there is always room.", "[storage]"),
    ] = None
    crane: Annotated[
        Crane | None,
        key(
            "The floor cranes that lift panels in, and how they move.",
            "[crane]",
            needed="where panels are set by floor crane",
        ),
    ] = None
    hoist: Annotated[
        Hoist | None,
        key(
            "The hoist that brings crates to their level.",
            "[hoist]",
            needed="where panels are not lifted straight from the truck",
        ),
    ] = None
    method: Annotated[
        dict[str, Method],
        key(
            "Other ways of lifting panels in than the floor crane, each under its name; a trade, a family or "
            "the level table names it.",
            "[method.NAME]",
        ),
    ] = Field(default_factory=dict)
    delivery: Annotated[
        Delivery | None,
        key("The trucks that bring crates.", "[delivery]", needed="with a trade of kind panels"),
    ] = None
    yard: Annotated[
        Yard | None, key("Room for crates on the ground; without the table there is always room.", "[yard]")
    ] = None
    factory: Annotated[
        Factory | None,
        key(
            "How fast panels are made; without the table they are ready when their truck is due.", "[factory]"
        ),
    ] = None
    family: Annotated[
        dict[str, Family],
        key("Families of panels that are set alike, each under its name.", "[family.NAME]"),
    ] = Field(default_factory=dict)
    trade: Annotated[
        dict[str, Trade],
        Field(min_length=1),
        Words("tables [trade.NAME]"),
        key("Trades that work their way through levels and zones, each under its name.", "[trade.NAME]"),
    ]
    closing_in: Annotated[
        ClosingIn | None,
        key("When a level counts as closed in, so that its interior may begin.", "[closing_in]"),
    ] = None
    activity: Annotated[
        dict[str, Activity],
        key("Work that happens once, as crane out or the crown, each under its name.", "[activity.NAME]"),
    ] = Field(default_factory=dict)
    mock_up: Annotated[
        MockUp | None, key("The mock-up: a test that is tried until it passes.", "[mock_up]")
    ] = None
    water_test: Annotated[
        WaterTest | None,
        key("Water tests of the lowest levels before their joints are covered.", "[water_test]"),
    ] = None
    risk: Annotated[
        tuple[Risk, ...], key("Things that may happen, each with its chance and its effect.", "[[risk]]")
    ] = ()
    leave_outs: Annotated[
        LeaveOuts | None,
        key("Panels left out at ties and landings, closed at the end.", "[leave_outs]"),
    ] = None
    policy: Annotated[Policy, key("Who is served first when several wait.", "[policy]")] = Policy()
    correlation: Annotated[
        tuple[Correlation, ...], key("Trades whose paces turn out alike.", "[[correlation]]")
    ] = ()
    contract: Annotated[
        dict[str, Contract], key("Dates of the contract, each under its name.", "[contract.NAME]")
    ] = Field(default_factory=dict)
    bid: Annotated[
        BidDocument | None,
        key("Who stands for a bid, its revision, its data date and what it leaves out.", "[bid]"),
    ] = None
    cost: Annotated[
        Cost | None,
        key("Costs that run with the calendar, and their unit.", "[cost]", needed="with any rate or damages"),
    ] = None
    setup: Annotated[
        dict[str, dict[str, Any]],
        Words("tables [setup.NAME] of dotted keys and values"),
        key(
            "Named changes of this scenario for compare, each under its name: dotted keys and their new "
            "values, "
            "as resource.hoist.count = 2.",
            "[setup.NAME]",
        ),
    ] = Field(default_factory=dict)
    candidate: Annotated[
        dict[str, dict[str, Any]],
        Words("tables [candidate.NAME] of dotted keys and values"),
        key(
            "Named changes that add may try beside one unit more of each resource, and choose beside its "
            "decisions.",
            "[candidate.NAME]",
        ),
    ] = Field(default_factory=dict)
    decision: Annotated[
        dict[str, Decision],
        key(
            "What choose may decide, each under its name: a key and its values; every candidate is a "
            "decision of yes or no beside them.",
            "[decision.NAME]",
        ),
    ] = Field(default_factory=dict)
