"""What works on the site and how often it is there: gangs, cranes, hoists, bays, and their breakdowns."""

from typing import Annotated, Literal

from towerpace.scenario.fields import (
    Count,
    CountFrom0,
    Day,
    NumberFrom0,
    SourcedTable,
    SpreadFrom0,
    spread_in,
)
from towerpace.scenario.meanings import key
from towerpace.scenario.quantities import Bounds
from towerpace.scenario.schema.tower import ClosedSpan
from towerpace.scenario.spreads import Spread


class Breakdown(SourcedTable):
    """Failures of one unit, each put right when a job has ended; the next is counted from there."""

    every_h: Annotated[
        Spread,
        *spread_in(Bounds(low=1)),
        key(
            "From one repair to the next failure of a unit, by the clock on the site and not by hours of "
            "use: 200 working hours of a week of 56 are 600. What fails works on until its job ends (a "
            "floor crane to the end of its visit, a gang to the end of its front) and is repaired then.",
            '{ low = 300, likely = 600, high = 900, shape = "pert" }',
            unit="clock hours",
        ),
    ]
    repair_h: Annotated[
        SpreadFrom0,
        key(
            "How long a repair takes, by the clock.",
            '{ low = 1, likely = 4, high = 24, shape = "pert" }',
            unit="clock hours",
        ),
    ]
    swap_h: Annotated[
        SpreadFrom0 | None,
        key(
            "How soon another unit takes over if the repair would take longer; without the key none comes.",
            '{ low = 24, likely = 48, high = 72, shape = "pert" }',
            unit="clock hours",
        ),
    ] = None


class UnitDates(SourcedTable):
    """Units of a resource that come or go on days of their own.

    They bear the highest numbers, those of the last table the very highest.
    """

    units: Annotated[
        Count,
        key(
            "How many units keep these days; all tables of a resource together no more than its count. They "
            "bear its highest numbers, those of the last table the very highest.",
            "1",
            unit="units",
        ),
    ] = 1
    arrives: Annotated[
        Day | None,
        key(
            "First day on which they are there, in place of the resource's arrives; they are paid from then "
            "on.",
            "2027-04-12",
        ),
    ] = None
    leaves: Annotated[
        Day | None,
        key(
            "From this day on they are taken away, in place of the resource's leaves; each is paid until it "
            "is gone. As units are alike, the one whose job ends first goes; of idle floor cranes the lowest "
            "number.",
            "2028-06-01",
        ),
    ] = None
    away: Annotated[
        tuple[ClosedSpan, ...],
        key(
            "Spans of days in which they are elsewhere, beside the spans of the resource. They are paid "
            "meanwhile.",
            "[{ from = 2027-08-02, to = 2027-08-13 }]",
        ),
    ] = ()


class Resource(SourcedTable):
    """Interchangeable units: gangs, cranes, hoists, bays."""

    count: Annotated[
        CountFrom0, key("How many units there are; one does as well as another.", "2", unit="units")
    ]
    order: Annotated[
        Literal["rank", "first come"],
        key(
            'Who is served first when several wait: the front that comes first by the policy ("rank"), or '
            "who "
            'has waited longest ("first come").',
            '"rank"',
        ),
    ] = "rank"
    cost_per_day: Annotated[
        NumberFrom0 | None,
        key(
            "Cost of one unit a day, from the first day any unit is used to the last, on the days that paid "
            "says; of a unit with days of its own, from the day it arrives and until it leaves.",
            "1.0",
            unit="unit of [cost] a day",
        ),
    ] = None
    cost_mobilise: Annotated[
        NumberFrom0 | None,
        key("Cost of bringing one unit to the site and taking it away.", "4", unit="unit of [cost]"),
    ] = None
    paid: Annotated[
        Literal["calendar days", "working days"],
        key(
            "The days on which cost_per_day is paid: all of them, or the working days alone.",
            '"working days"',
        ),
    ] = "calendar days"
    arrives: Annotated[
        Day | None,
        key("First day on which the units are there; without the key from the start.", "2027-04-12"),
    ] = None
    leaves: Annotated[
        Day | None,
        key(
            "From this day on the units are taken away, each when its job ends; without the key they stay.",
            "2028-06-01",
        ),
    ] = None
    away: Annotated[
        tuple[ClosedSpan, ...],
        key(
            "Spans of days in which the units are elsewhere; each goes when its job ends.",
            "[{ from = 2027-08-02, to = 2027-08-13 }]",
        ),
    ] = ()
    unit: Annotated[
        tuple[UnitDates, ...],
        key(
            "Single units with days of their own: a second hoist that comes late, a crane that leaves before "
            "the others.",
            "[[resource.NAME.unit]]",
        ),
    ] = ()
    breakdown: Annotated[
        Breakdown | None,
        key(
            "Breakdowns, every unit with failures of its own. One unit is as good as another: a repair takes "
            "the one that is free first, an idle one at once, whichever of them failed.",
            "[resource.NAME.breakdown]",
        ),
    ] = None
