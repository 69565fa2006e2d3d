"""Deliveries, yard, factory, hoists, storage: how crates come to their level."""

from typing import Annotated, Literal

from pydantic import Field

from towerpace.scenario.fields import (
    Chance,
    Count,
    CountFrom0,
    Day,
    Names,
    NumberAbove0,
    Share,
    SourcedTable,
    SpreadAbove0,
    SpreadFrom0,
    Text,
    Truth,
)
from towerpace.scenario.meanings import key
from towerpace.scenario.words import Words

_CALL_OFF = 'when order is "call-off"'


class Delivery(SourcedTable):
    """Trucks with crates."""

    calendar: Annotated[Text, key("Calendar in which trucks are unloaded.", '"delivery"')]
    crates_per_truck: Annotated[Count, key("How many crates one truck brings.", "8", unit="crates")]
    late_h: Annotated[
        SpreadFrom0,
        key(
            "How late a late truck is, by the clock.",
            '{ low = 2, likely = 24, high = 120, shape = "pert" }',
            unit="clock hours",
        ),
    ]
    late_chance: Annotated[Chance, key("Chance that a truck is late.", "0.25", unit="share")]
    resource: Annotated[
        Text, key("Resource of which a truck takes one unit while it is unloaded.", '"unloading_bay"')
    ]
    unload_min: Annotated[
        SpreadFrom0,
        key("Unloading one truck.", '{ low = 45, likely = 75, high = 120, shape = "pert" }'),
    ]
    order: Annotated[
        Literal["planned", "call-off"],
        key(
            'When trucks come: on the days of the level table ("planned"), or called when the structure gets '
            'there ("call-off").',
            '"call-off"',
        ),
    ] = "planned"
    levels_ahead: Annotated[
        CountFrom0 | None,
        key(
            "The trucks of a level are called when the level this many below it is handed over; below the "
            "tower, "
            "at the start.",
            "3",
            unit="levels",
            needed=_CALL_OFF,
        ),
    ] = None
    lead_days: Annotated[
        SpreadFrom0 | None,
        key(
            "From the call until the truck comes.",
            '{ low = 5, likely = 7, high = 12, shape = "pert" }',
            needed=_CALL_OFF,
        ),
    ] = None
    early_chance: Annotated[
        Chance | None,
        key("Chance that a truck comes before its time.", "0.1", unit="share", needed="with early_h"),
    ] = None
    early_h: Annotated[
        SpreadFrom0 | None,
        key(
            "How early an early truck is, by the clock.",
            '{ low = 1, likely = 4, high = 24, shape = "pert" }',
            unit="clock hours",
            needed="with early_chance",
        ),
    ] = None
    accept_early: Annotated[
        Truth,
        key(
            "Whether an early truck may wait at the gate; otherwise it is sent away and comes at its time, "
            "and "
            "not before back_days have passed.",
            "false",
        ),
    ] = True
    turn_away_h: Annotated[
        NumberAbove0 | None,
        key(
            "Hours of the calendar after which a truck that still waits leaves, unless the bay comes free in "
            "that very minute; without the key it stays.",
            "4",
            unit="working hours",
        ),
    ] = None
    back_days: Annotated[
        NumberAbove0 | None,
        key("After how long a truck that left is back.", "2", needed="with turn_away_h"),
    ] = None
    turned_away_at_most: Annotated[
        Count | None,
        key(
            "How often one truck may leave; then it stays until it is let in.",
            "2",
            unit="times",
            needed="with turn_away_h",
        ),
    ] = None
    wrong_order_chance: Annotated[
        Chance | None,
        key(
            "Chance that a load comes in the wrong order and must be sorted before its first crate goes up.",
            "0.06",
            unit="share",
            needed="with sort_min",
        ),
    ] = None
    sort_min: Annotated[
        SpreadFrom0 | None,
        key(
            "Sorting such a load; the place and the people of its unloading are bound meanwhile.",
            '{ low = 30, likely = 75, high = 180, shape = "pert" }',
            needed="with wrong_order_chance",
        ),
    ] = None
    unload_needs: Annotated[
        dict[str, Count],
        Words("resource = quantity"),
        key("What unloading takes beside one unit of resource.", "{ receiving_gang = 1 }", unit="units"),
    ] = Field(default_factory=dict)


class Yard(SourcedTable):
    """Room for crates on the ground."""

    slots: Annotated[
        Count,
        key(
            "How many crates the yard holds: a truck is let in when there is room for its whole load, and "
            "each "
            "crate makes room when it goes up. At least one truck's load.",
            "40",
            unit="crates",
        ),
    ]


class Factory(SourcedTable):
    """Panels are made in planned order, day and night, after what lies in stock already."""

    panels_per_week: Annotated[
        NumberAbove0, key("How many panels are made in a week.", "75", unit="panels a week")
    ]
    stock_panels: Annotated[
        CountFrom0, key("How many finished panels lie in stock at the start.", "240", unit="panels")
    ] = 0
    start: Annotated[
        Day | None, key("First day of making panels.", "2027-03-01", needed="unless after is given")
    ] = None
    after: Annotated[
        Text | None,
        key(
            'What releases the factory: an activity, or "mock_up".',
            '"mock_up"',
            needed="unless start is given",
        ),
    ] = None
    stock_waits: Annotated[
        Truth,
        key(
            "Whether panels in stock wait for what releases the factory, too: made at risk before the "
            "mock-up passes, they are not set until it has.",
            "true",
            needed="only with after",
        ),
    ] = False


class Hoist(SourcedTable):
    """Hoist trips with crates; in planned order, or as they come, by the order of its resource."""

    resource: Annotated[Text, key("Which resource the hoists are; each unit is a car.", '"hoist"')]
    calendar: Annotated[Text, key("Calendar in which crates go up.", '"hoist"')]
    limits: Annotated[
        Names,
        key(
            "Limits of weather held at the level of the trip: none begins beyond them. May be empty.",
            '["hoist_wind"]',
        ),
    ]
    load_min: Annotated[
        SpreadFrom0,
        key("Loading a crate into the car.", '{ low = 3, likely = 6, high = 15, shape = "pert" }'),
    ]
    unload_min: Annotated[
        SpreadFrom0,
        key("Bringing a crate out of the car.", '{ low = 3, likely = 6, high = 15, shape = "pert" }'),
    ]
    speed_m_s: Annotated[NumberAbove0, key("Full speed of a car.", "1.0")]
    acceleration_m_s2: Annotated[NumberAbove0, key("How quickly a car gains and loses speed.", "0.5")]
    jerk_m_s3: Annotated[
        NumberAbove0 | None,
        key("How quickly the acceleration itself may change; without the key at once.", "0.6"),
    ] = None
    share: Annotated[
        Share,
        key(
            "Share of the hoist's time that is left for crates, the rest being for people and other trades: "
            "a "
            "trip takes its minutes divided by this.",
            "0.35",
            unit="share",
        ),
    ]
    empties: Annotated[
        Truth,
        key("Whether empty crates go down again; each keeps its floor slot until it is down.", "true"),
    ] = False
    empties_ride_min: Annotated[
        SpreadFrom0 | None,
        key(
            "Empty crates ride down in a car that came up anyway: the time of the car for getting one on and "
            "off, divided by share as a trip is; without the key each has a trip of its own.",
            '{ low = 1, likely = 2, high = 5, shape = "pert" }',
        ),
    ] = None
    night: Annotated[Text | None, key("A second calendar in which crates go up too.", '"night"')] = None
    extension_levels: Annotated[
        Count | None,
        key(
            "The mast is extended after every so many levels handed over; without the key never.",
            "3",
            unit="levels",
            needed="with extension_h",
        ),
    ] = None
    extension_h: Annotated[
        SpreadAbove0 | None,
        key(
            "For how long each car stops for that, in its calendar and within its limits.",
            '{ low = 4, likely = 6, high = 9, shape = "pert" }',
            unit="working hours",
            needed="with extension_levels",
        ),
    ] = None


class Storage(SourcedTable):
    """Room for crates on the levels."""

    slots_per_level: Annotated[
        Count,
        key(
            "How many crates a level holds at once. Never an engineer's agreement to the load.",
            "20",
            unit="crates",
        ),
    ]
