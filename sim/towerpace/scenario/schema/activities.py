"""Work that happens once, tests that release a level, and risks that may befall either."""

from typing import Annotated, Literal

from pydantic import Field, PlainValidator, WithJsonSchema

from towerpace.scenario.complaints import Complaint, RefusalError, shown
from towerpace.scenario.fields import (
    Chance,
    Count,
    Day,
    Names,
    NumberAbove0,
    Share,
    SourcedTable,
    SpreadAbove0,
    SpreadFrom0,
    Text,
    Truth,
    Whole,
    number_in,
)
from towerpace.scenario.meanings import key
from towerpace.scenario.quantities import Bounds, Value
from towerpace.scenario.schema.trades import After
from towerpace.scenario.spreads import Spread
from towerpace.scenario.words import Words

ALL_LEVELS = "all"
LEVEL_WORDS = 'a level, or "all"'


def _level(raw: object) -> int | Literal["all"]:
    if raw == ALL_LEVELS:
        return "all"
    if isinstance(raw, int) and not isinstance(raw, bool):
        return raw
    raise RefusalError([Complaint((), shown(raw), LEVEL_WORDS)])


OneOrAll = Annotated[
    int | Literal["all"],
    PlainValidator(_level),
    WithJsonSchema({"anyOf": [{"type": "integer"}, {"const": ALL_LEVELS}]}),
    Words(LEVEL_WORDS),
]
Needs = Annotated[dict[str, Count], Words("resource = quantity")]
FirstAndLast = Annotated[
    tuple[Whole, ...],
    Field(min_length=2, max_length=2),
    Words("a list of two levels, the first and the last"),
]
ALL_UNITS = "all"
UNIT_WORDS = 'a whole number, at least 1, or "all"'


def _units(raw: object) -> int | Literal["all"]:
    if raw == ALL_UNITS:
        return "all"
    if isinstance(raw, int) and not isinstance(raw, bool) and raw >= 1:
        return raw
    raise RefusalError([Complaint((), shown(raw), UNIT_WORDS)])


UnitsOrAll = Annotated[
    int | Literal["all"],
    PlainValidator(_units),
    WithJsonSchema({"anyOf": [{"type": "integer", "minimum": 1}, {"const": ALL_UNITS}]}),
    Words(UNIT_WORDS),
]
Removed = Annotated[dict[str, UnitsOrAll], Words('resource = quantity, or "all"')]
# Below freezing the law of maturity does not hold; above 60 degC strength suffers.
Temperature = Annotated[Value, *number_in(Bounds(low=0, high=60))]


class Condition(SourcedTable):
    """A condition for the start of what happens once."""

    on: Annotated[
        Text,
        key(
            'What must be done first: "handover", "closing_in", "water_test", a trade, an activity or '
            '"mock_up".',
            '"handover"',
        ),
    ]
    level: Annotated[
        OneOrAll | None,
        key(
            'The level on which it must be done, or "all".',
            "34",
            needed="with all but activities and the mock-up, unless levels_up is given: exactly one",
        ),
    ] = None
    levels_up: Annotated[
        Whole | None,
        key(
            "For an activity with levels, instead of level: on which level it must be done, counted from "
            "the level that the activity is at. 0 is the same one, -2 leads by two levels on the way down; "
            "before the first level of what leads nothing is waited for, beyond its last all of it.",
            "-2",
            unit="levels",
        ),
    ] = None
    lag_h: Annotated[
        SpreadFrom0,
        key("How long to wait after that, by the clock.", "24", unit="clock hours"),
    ] = Spread.constant(0.0)


Conditions = Annotated[tuple[Condition, ...], Words("a list of tables")]


class Concrete(SourcedTable):
    """A gate: concrete must have gained a share of its strength at 28 days."""

    cast: Annotated[
        Condition,
        key("What casts the concrete; its age counts from there.", '{ on = "crown_anchors" }'),
    ]
    share: Annotated[
        Share, key("Share of its strength at 28 days that it must have gained.", "0.75", unit="share")
    ]
    cement: Annotated[
        Literal["I", "III"] | None,
        key(
            "Type of cement, for the strength curve of ACI 209: I ordinary, III early.",
            '"I"',
            needed="unless s is given: exactly one",
        ),
    ] = None
    s: Annotated[
        NumberAbove0 | None,
        key(
            "Coefficient of the strength curve of EN 1992: 0.20 quick, 0.25 ordinary, 0.38 slow cement.",
            "0.25",
            unit="-",
            needed="unless cement is given: exactly one",
        ),
    ] = None
    curing_c: Annotated[
        Temperature,
        key(
            "Planned mean temperature while it cures; the weather of a trial does not change it.",
            "8",
            unit="°C",
        ),
    ] = Field(alias="curing_temperature_degC")


class ByLevel(SourcedTable):
    """Work that goes through the tower level by level, so that other work may follow it level by level."""

    levels: Annotated[
        FirstAndLast | None,
        key(
            "The activity goes level by level from the first of two levels to the last: [34, 1] down, "
            "[1, 34] up. work_h, lift_min with lifts, or days are then those of each level; hours and days "
            "are drawn once for all. What is to follow it level by level names it with levels_up.",
            "[34, 1]",
            unit="levels",
        ),
    ] = None
    band_levels: Annotated[
        Count,
        key(
            "How many levels are done in one go, as a section of a mast; work_h is then that of such a band.",
            "3",
            unit="levels",
        ),
    ] = 1
    column: Annotated[
        Text | None,
        key(
            "Column of the level table that counts units: work_h is then that of one unit, and levels "
            "without any are passed by.",
            '"leave_outs"',
        ),
    ] = None
    in_turn: Annotated[
        Truth,
        key(
            "Whether a level waits for the one before it, as with a mast; otherwise whatever resources are "
            "free take the levels in this order, several at a time.",
            "false",
        ),
    ] = True


class Activity(ByLevel):
    """Work that happens once; exactly one of work_h, lift_min and days says how long it takes."""

    work_h: Annotated[
        SpreadFrom0 | None,
        key(
            "Working hours of one gang in the calendar; pauses with the shift and beyond its limits.",
            '{ low = 30, likely = 45, high = 80, shape = "pert" }',
            unit="working hours",
            needed="unless lift_min or days is given: exactly one",
        ),
    ] = None
    lift_min: Annotated[
        SpreadFrom0 | None,
        key(
            "Minutes of each of so many lifts, one after the other, each begun only if it ends within the "
            "shift.",
            '{ low = 60, likely = 100, high = 200, shape = "pert" }',
            needed="unless work_h or days is given: exactly one",
        ),
    ] = None
    lifts: Annotated[Count | None, key("Number of lifts.", "16", unit="lifts", needed="with lift_min")] = None
    days: Annotated[
        SpreadFrom0 | None,
        key(
            "Calendar days, round the clock, whatever the weather: a lead time, an approval.",
            '{ low = 21, likely = 35, high = 56, shape = "pert" }',
            unit="calendar days",
            needed="unless work_h or lift_min is given: exactly one",
        ),
    ] = None
    needs: Annotated[
        Needs,
        key("Resources taken together, and kept until it is done.", "{ tower_crane = 1 }", unit="units"),
    ] = Field(default_factory=dict)
    removes: Annotated[
        Removed,
        key(
            "Resources taken with it that leave for good when it is done. It waits for all that the units "
            "that stay could not do, remade panels and return visits too: a hoist goes when nothing needs "
            "it.",
            '{ hoist = "all" }',
            unit="units",
        ),
    ] = Field(default_factory=dict)
    brings: Annotated[
        Needs,
        key(
            "Units of the count of a resource that are not there until it is done; not of one that breaks "
            "down.",
            "{ hoist = 1 }",
            unit="units",
        ),
    ] = Field(default_factory=dict)
    calendar: Annotated[
        Text | None,
        key("Calendar in which it is done.", '"site"', needed="with work_h or lift_min"),
    ] = None
    limits: Annotated[Names, key("Limits of weather that it keeps.", '["crown_lift"]')] = ()
    height_m: Annotated[
        NumberAbove0 | None,
        key(
            "Height above ground at which its limits are held.",
            "152",
            needed="with a limit on wind that has no height of its own, unless level is given",
        ),
    ] = None
    level: Annotated[
        Whole | None, key("Level at whose height its limits are held, and where it is shown.", "34")
    ] = None
    not_before: Annotated[Day | None, key("First day on which it may start.", "2027-09-01")] = None
    after: Annotated[
        Conditions,
        key(
            "What must be done before it may start: all of these conditions.",
            '[{ on = "panels", level = "all" }]',
        ),
    ] = ()
    concrete: Annotated[
        Concrete | None,
        key("Concrete that must have hardened before it may start.", "[activity.NAME.concrete]"),
    ] = None


class MockUp(SourcedTable):
    """A test that is tried until it passes."""

    try_days: Annotated[
        SpreadFrom0,
        key(
            "How long each try takes.",
            '{ low = 3, likely = 5, high = 9, shape = "pert" }',
            unit="calendar days",
        ),
    ]
    pass_chance: Annotated[Chance, key("Chance that a try passes.", "0.65", unit="share")]
    fix_days: Annotated[
        SpreadFrom0,
        key(
            "How long a repair between two tries takes.",
            '{ low = 21, likely = 35, high = 56, shape = "pert" }',
            unit="calendar days",
        ),
    ]
    most_tries: Annotated[
        Count, key("After so many tries the project goes on as if the last had passed.", "4", unit="tries")
    ]
    start: Annotated[
        Day | None, key("First day of the first try; without the key the start.", "2027-03-01")
    ] = None
    after: Annotated[Conditions, key("What must be done before the first try.", '[{ on = "rig" }]')] = ()


class WaterTest(SourcedTable):
    """Levels are sprayed front by front before anything covers their joints."""

    levels: Annotated[Count, key("How many levels are tested, from the lowest up.", "2", unit="levels")]
    hours: Annotated[
        SpreadFrom0,
        key(
            "Testing one zone of a level.",
            '{ low = 3, likely = 5, high = 9, shape = "pert" }',
            unit="working hours",
        ),
    ]
    needs: Annotated[
        dict[str, Count],
        Field(min_length=1),
        Words("resource = quantity, at least one"),
        key("Resources that a test takes together.", "{ test_crew = 1 }", unit="units"),
    ]
    calendar: Annotated[Text, key("Calendar in which tests are made.", '"site"')]
    limits: Annotated[Names, key("Limits of weather in which a test pauses.", '["cold_joints"]')] = ()
    after: Annotated[
        tuple[After, ...],
        Field(min_length=1),
        Words("a list of tables, at least one"),
        key("What must be done before a zone is tested.", '[{ on = "seal" }]'),
    ]


class Risk(SourcedTable):
    """Something that may happen: exactly one of delay_days and factor."""

    name: Annotated[
        Text, key("Name of the risk, as answers tell it; each once.", '"lift permit refused at first"')
    ]
    chance: Annotated[Chance, key("Chance that it happens, once a trial.", "0.25", unit="share")]
    on: Annotated[
        Text,
        key(
            'What it befalls: an activity, "mock_up", "handover" with its level, or a trade.',
            '"crown_lifts"',
        ),
    ]
    level: Annotated[
        Whole | None,
        key("Level that is handed over late, and with it all above.", "20", needed='when on is "handover"'),
    ] = None
    delay_days: Annotated[
        SpreadFrom0 | None,
        key(
            "How much later an activity or the first front of a trade may start, or the level is handed "
            "over. "
            "The fronts behind the first go on if nothing else holds them.",
            '{ low = 7, likely = 14, high = 35, shape = "pert" }',
            unit="calendar days",
            needed="unless factor is given: exactly one",
        ),
    ] = None
    factor: Annotated[
        SpreadAbove0 | None,
        key(
            "Factor on the minutes of the trade.",
            '{ low = 1.05, likely = 1.15, high = 1.5, shape = "pert" }',
            unit="-",
            needed="unless delay_days is given: exactly one",
        ),
    ] = None
    owner: Annotated[
        Text | None, key("Who answers for the risk: a role, not a person.", '"lifting manager"')
    ] = None
    response: Annotated[
        Text | None,
        key(
            "What is done about it, as a register says it. What remains afterwards is said below.",
            '"apply twelve weeks ahead, second crane firm on call"',
            needed="with any of the three keys that follow",
        ),
    ] = None
    chance_after: Annotated[
        Chance | None,
        key("Chance that it happens all the same; chance if left out.", "0.1", unit="share"),
    ] = None
    delay_days_after: Annotated[
        SpreadFrom0 | None,
        key(
            "How much later it makes things then; delay_days if left out.",
            '{ low = 3, likely = 7, high = 14, shape = "pert" }',
            unit="calendar days",
        ),
    ] = None
    factor_after: Annotated[
        SpreadAbove0 | None,
        key(
            "Factor on the minutes of the trade then; factor if left out.",
            '{ low = 1.0, likely = 1.05, high = 1.2, shape = "pert" }',
            unit="-",
        ),
    ] = None
