"""Floor cranes, panel families and leave-outs: how panels are set, lost, made anew, and closed last.

A panel is itself and no other. It may be found bad when it is unpacked (rejected, or broken on the way): then
it is not set, and its gang goes on to the next. It may break while it is set: its full time is lost. It may
break after its level is closed in, by the work of others. What is lost is made anew for its own place and set
on a return visit, with gang, crane and strip. Each panel is lost at most once: what comes in its place holds.

A front with holes is done for the trades after it once its gang has left (hole = "return"), or once its holes
are closed (hole = "hold"); then the same zone of the level above waits too. Closing-in waits for every hole
in both cases, but not where holes are sheeted meanwhile (hole = "infill"). Holes, and losses found after
closing-in, hold the finish in any case. The new panel for a hole comes up by hoist, so a hoist that leaves
while holes are open can leave a trial without an end.
"""

from typing import Annotated, Literal

from pydantic import Field

from towerpace.scenario.fields import (
    Chance,
    Count,
    CountFrom0,
    Names,
    NumberAbove0,
    NumberFrom0,
    SourcedTable,
    SpreadAbove0,
    SpreadFrom0,
    Text,
    Truth,
)
from towerpace.scenario.meanings import key
from towerpace.scenario.schema.trades import After
from towerpace.scenario.words import Words

FOUND_UNPACKING = ("reject_chance", "transit_break_chance")
LEAVING_HOLES = (*FOUND_UNPACKING, "handling_break_chance")
LOSSES = (*LEAVING_HOLES, "later_break_chance")

ZonePair = Annotated[tuple[Text, ...], Field(min_length=2, max_length=2), Words("a list of two zones")]


class Crane(SourcedTable):
    """Moves of the floor crane."""

    resource: Annotated[Text, key("Which resource the floor cranes are.", '"floor_crane"')]
    set_up_min: Annotated[
        SpreadFrom0,
        key(
            "Setting up a floor crane before the first lift of a front.",
            '{ low = 40, likely = 60, high = 120, shape = "pert" }',
        ),
    ]
    zone_move_min: Annotated[NumberFrom0, key("Moving a floor crane to another zone of its level.", "75")]
    level_move_min: Annotated[NumberFrom0, key("Moving a floor crane to another level.", "240")]
    per_level_min: Annotated[
        NumberFrom0, key("What each level of such a move takes on top.", "4", unit="min a level")
    ]
    panels_per_position: Annotated[
        Count, key("How many panels a floor crane sets from one position.", "2", unit="panels")
    ]
    reposition_min: Annotated[
        SpreadFrom0,
        key(
            "Shifting the floor crane along its front to the next position.",
            '{ low = 8, likely = 15, high = 30, shape = "pert" }',
        ),
    ]
    drop_zone: Annotated[
        CountFrom0,
        key(
            "How many zones on each side of the lifted one are kept clear too, round the building in the "
            "order "
            "of the level table. No crane and no outside trade works in them.",
            "1",
            unit="zones",
        ),
    ] = 0
    obstacle_min: Annotated[
        NumberFrom0 | None,
        key("Extra time of a move past an obstacle.", "25", needed="with obstacles"),
    ] = None
    obstacles: Annotated[
        tuple[ZonePair, ...],
        Words("a list of pairs of zones"),
        key(
            "Pairs of zones between which a crane must get past a column or the core.",
            '[["north", "east"], ["south", "west"]]',
        ),
    ] = ()
    level_move_needs: Annotated[
        dict[str, Count],
        Words("resource = quantity"),
        key(
            "Resources that a move between levels keeps for as long as it takes, as the hoist that carries "
            "it.",
            "{ hoist = 1 }",
            unit="units",
        ),
    ] = Field(default_factory=dict)


class Family(SourcedTable):
    """A family of panels."""

    column: Annotated[Text, key("Column of the level table that counts its panels.", '"flat"')]
    set_min: Annotated[
        SpreadFrom0,
        key(
            "Lifting one panel in, fixing it and letting go: the time for which gang and floor crane are "
            "bound.",
            '{ low = 18, likely = 36, high = 75, shape = "pert" }',
        ),
    ]
    limits: Annotated[
        Names,
        key(
            "Limits of weather held at the panel's height: no lift begins beyond them. May be empty.",
            '["flat_lift"]',
        ),
    ]
    crate_panels: Annotated[Count, key("How many panels come in one crate (stillage).", "4", unit="panels")]
    method: Annotated[
        Text | None,
        key(
            "How panels of this family are lifted in wherever they are, as small pieces by hand: a table of "
            '[method.NAME], or "crane". It comes before what the level table or the trade says.',
            '"hook"',
        ),
    ] = None
    mass_kg: Annotated[
        NumberAbove0 | None,
        key("Mass of one panel: with area_m2 for a warning beside a wind limit that looks too brave.", "620"),
    ] = None
    area_m2: Annotated[NumberAbove0 | None, key("Area of one panel, its sail in the wind.", "6.0")] = None
    reject_chance: Annotated[
        Chance | None,
        key("Chance that a panel is found bad when it is unpacked.", "0.015", unit="share"),
    ] = None
    transit_break_chance: Annotated[
        Chance | None, key("Chance that a panel has broken on the way.", "0.01", unit="share")
    ] = None
    handling_break_chance: Annotated[
        Chance | None, key("Chance that a panel breaks while it is set.", "0.006", unit="share")
    ] = None
    later_break_chance: Annotated[
        Chance | None,
        key("Chance that a panel is broken later by the work of others.", "0.005", unit="share"),
    ] = None
    later_found_days: Annotated[
        SpreadFrom0 | None,
        key(
            "How long after closing-in such a breakage is found (where there is no closing-in, after its "
            "front "
            "has no holes).",
            '{ low = 0, likely = 14, high = 60, shape = "pert" }',
            needed="when later_break_chance is above 0",
        ),
    ] = None
    misfit_chance: Annotated[
        Chance | None,
        key("Chance that a panel does not fit at first.", "0.04", unit="share"),
    ] = None
    misfit_min: Annotated[
        SpreadFrom0 | None,
        key(
            "Extra time on the spot until it fits.",
            '{ low = 30, likely = 60, high = 180, shape = "pert" }',
            needed="when misfit_chance is above 0",
        ),
    ] = None
    remake_days: Annotated[
        SpreadFrom0 | None,
        key(
            "From the loss of a panel until the new one is at the gate.",
            '{ low = 42, likely = 63, high = 84, shape = "pert" }',
            needed="when a panel may be rejected or break",
        ),
    ] = None
    spares: Annotated[
        CountFrom0,
        key(
            "Panels in stock: so many of the first losses, in planned order, are replaced from there.",
            "10",
            unit="panels",
        ),
    ] = 0
    spare_days: Annotated[
        NumberFrom0 | None,
        key(
            "From the loss until a spare is at the gate.",
            "2",
            needed="when spares is above 0",
        ),
    ] = None

    def chance(self, *keys: str) -> float:
        """Largest of some chances; 0 where none is stated. [-]"""
        return max(float(getattr(self, name) or 0.0) for name in keys)


class LeaveOuts(SourcedTable):
    """Panels left out at ties and landings, the last ones of their front.

    They stand on their level meanwhile, do not hold closing-in, and hold the finish.
    """

    column: Annotated[
        Text,
        key("Column of the level table that says how many of a front's panels are left out.", '"leave_outs"'),
    ]
    after: Annotated[
        tuple[After, ...],
        Field(min_length=1),
        Words("a list of tables, at least one"),
        key("What must be done before they are closed, as the hoist taken down.", '[{ on = "hoist_out" }]'),
    ]
    set_factor: Annotated[
        SpreadAbove0,
        key(
            "Their setting time over the usual one: a single gap between neighbours takes longer.",
            '{ low = 1.3, likely = 1.7, high = 2.6, shape = "pert" }',
            unit="-",
        ),
    ]
    crane: Annotated[
        Truth, key("Whether a floor crane closes them; otherwise the gang does by hand.", "true")
    ]
    order: Annotated[
        Literal["down", "up"], key("From the top down or from the bottom up, zone by zone.", '"down"')
    ]
