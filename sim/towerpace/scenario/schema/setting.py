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
from towerpace.scenario.schema.trades import After
from towerpace.scenario.words import Words

FOUND_UNPACKING = ("reject_chance", "transit_break_chance")
LEAVING_HOLES = (*FOUND_UNPACKING, "handling_break_chance")
LOSSES = (*LEAVING_HOLES, "later_break_chance")

ZonePair = Annotated[tuple[Text, ...], Field(min_length=2, max_length=2), Words("a list of two zones")]


class Crane(SourcedTable):
    """Moves of the floor crane.

    drop_zone : zones on each side of the lifted one kept clear as well, in the ring of the level table. No
        crane and no outside trade works in them; two cranes may keep the same one clear.
    obstacle_min, obstacles : extra minutes of a move between two zones of a level, and for which pairs.
    level_move_needs : resources that a move between levels keeps for as long as it takes.
    """

    resource: Text
    set_up_min: SpreadFrom0
    zone_move_min: NumberFrom0
    level_move_min: NumberFrom0
    per_level_min: NumberFrom0
    panels_per_position: Count
    reposition_min: SpreadFrom0
    drop_zone: CountFrom0 = 0
    obstacle_min: NumberFrom0 | None = None
    obstacles: Annotated[tuple[ZonePair, ...], Words("a list of pairs of zones")] = ()
    level_move_needs: Annotated[dict[str, Count], Words("resource = quantity")] = Field(default_factory=dict)


class Family(SourcedTable):
    """A family of panels.

    reject_chance, transit_break_chance : found bad, or broken on the way, when it is unpacked.
    handling_break_chance : breaks while it is set.
    later_break_chance, later_found_days : broken by others, found so long after closing-in (where there is
        none, after its front has no holes). [d]
    misfit_chance, misfit_min : does not fit at first, and the extra minutes on the spot.
    remake_days : from the loss until the new panel is at the gate. [d]
    spares, spare_days : the first so many losses, in planned order of the panels, come from stock. [d]
    """

    column: Text
    set_min: SpreadFrom0
    limits: Names
    crate_panels: Count
    mass_kg: NumberAbove0 | None = None
    area_m2: NumberAbove0 | None = None
    reject_chance: Chance | None = None
    transit_break_chance: Chance | None = None
    handling_break_chance: Chance | None = None
    later_break_chance: Chance | None = None
    later_found_days: SpreadFrom0 | None = None
    misfit_chance: Chance | None = None
    misfit_min: SpreadFrom0 | None = None
    remake_days: SpreadFrom0 | None = None
    spares: CountFrom0 = 0
    spare_days: NumberFrom0 | None = None

    def chance(self, *keys: str) -> float:
        """Largest of some chances; 0 where none is stated. [-]"""
        return max(float(getattr(self, key) or 0.0) for key in keys)


class LeaveOuts(SourcedTable):
    """Panels left out at ties and landings, the last ones of their front, closed when the tie is gone.

    column : how many of a front's panels. set_factor : their setting time over the usual one. [-]
    crane : whether a floor crane closes them. order : from the top down or from the bottom up, zone by zone.
    They stand on their level meanwhile, do not hold closing-in, and hold the finish.
    """

    column: Text
    after: Annotated[tuple[After, ...], Field(min_length=1), Words("a list of tables, at least one")]
    set_factor: SpreadAbove0
    crane: Truth
    order: Literal["down", "up"]
