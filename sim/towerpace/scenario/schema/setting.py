"""Floor cranes and panel families: how panels are set."""

from towerpace.scenario.fields import (
    Count,
    Names,
    NumberAbove0,
    NumberFrom0,
    SourcedTable,
    SpreadFrom0,
    Text,
)


class Crane(SourcedTable):
    """Moves of the floor crane."""

    resource: Text
    set_up_min: SpreadFrom0
    zone_move_min: NumberFrom0
    level_move_min: NumberFrom0
    per_level_min: NumberFrom0
    panels_per_position: Count
    reposition_min: SpreadFrom0


class Family(SourcedTable):
    """A family of panels."""

    column: Text
    set_min: SpreadFrom0
    limits: Names
    crate_panels: Count
    mass_kg: NumberAbove0 | None = None
    area_m2: NumberAbove0 | None = None
