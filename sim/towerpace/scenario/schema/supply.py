"""Deliveries, hoists, storage: how crates come to their level."""

from towerpace.scenario.fields import (
    Chance,
    Count,
    Names,
    NumberAbove0,
    Share,
    SourcedTable,
    SpreadFrom0,
    Text,
)


class Delivery(SourcedTable):
    """Trucks with crates."""

    calendar: Text
    crates_per_truck: Count
    late_h: SpreadFrom0
    late_chance: Chance
    resource: Text
    unload_min: SpreadFrom0


class Hoist(SourcedTable):
    """Hoist trips with crates."""

    resource: Text
    calendar: Text
    limits: Names
    load_min: SpreadFrom0
    unload_min: SpreadFrom0
    speed_m_s: NumberAbove0
    acceleration_m_s2: NumberAbove0
    jerk_m_s3: NumberAbove0 | None = None
    share: Share


class Storage(SourcedTable):
    """Floor slots for crates."""

    slots_per_level: Count
