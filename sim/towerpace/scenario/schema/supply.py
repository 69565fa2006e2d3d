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
from towerpace.scenario.words import Words


class Delivery(SourcedTable):
    """Trucks with crates.

    order : "planned" on the days of the level table, or "call-off": the trucks of a front are called when the
        level `levels_ahead` below its own is handed over (below the tower: at the start) and come `lead_days`
        later. A day begins at its midnight.
    early_chance, early_h : a truck that comes before its time waits at the gate; with accept_early = false it
        is sent away and comes at its time, and not before `back_days` have passed.
    turn_away_h : hours of the calendar after which a truck that still waits leaves, to be back after
        `back_days`; it does so `turned_away_at_most` times, then it stays until it is let in.
    wrong_order_chance, sort_min : a load in the wrong order is sorted before its first crate goes up; the
        place where it was unloaded and who unloaded it are taken meanwhile.
    unload_needs : what unloading takes beside one unit of `resource`.
    """

    calendar: Text
    crates_per_truck: Count
    late_h: SpreadFrom0
    late_chance: Chance
    resource: Text
    unload_min: SpreadFrom0
    order: Literal["planned", "call-off"] = "planned"
    levels_ahead: CountFrom0 | None = None
    lead_days: SpreadFrom0 | None = None
    early_chance: Chance | None = None
    early_h: SpreadFrom0 | None = None
    accept_early: Truth = True
    turn_away_h: NumberAbove0 | None = None
    back_days: NumberAbove0 | None = None
    turned_away_at_most: Count | None = None
    wrong_order_chance: Chance | None = None
    sort_min: SpreadFrom0 | None = None
    unload_needs: Annotated[dict[str, Count], Words("resource = quantity")] = Field(default_factory=dict)


class Yard(SourcedTable):
    """Room for crates on the ground: taken by a truck's whole load, given back crate by crate."""

    slots: Count


class Factory(SourcedTable):
    """Panels are made in planned order at a weekly rate, day and night, after what lies in stock already.

    start : first day. after : an activity or "mock_up" that releases it. Both may be given.
    """

    panels_per_week: NumberAbove0
    stock_panels: CountFrom0 = 0
    start: Day | None = None
    after: Text | None = None


class Hoist(SourcedTable):
    """Hoist trips with crates.

    Crates go up as booked (planned order) with `order = "rank"` in the table of the resource, in the order in
    which they became ready with `order = "first come"`.
    empties : an empty crate goes down again and keeps its floor slot until it is down.
    night : a second calendar in which crates go up too.
    extension_levels, extension_h : after every so many levels handed over each car stops once, when its trip
        ends, for so many hours of the hoist's calendar, within the hoist's limits.
    """

    resource: Text
    calendar: Text
    limits: Names
    load_min: SpreadFrom0
    unload_min: SpreadFrom0
    speed_m_s: NumberAbove0
    acceleration_m_s2: NumberAbove0
    jerk_m_s3: NumberAbove0 | None = None
    share: Share
    empties: Truth = False
    night: Text | None = None
    extension_levels: Count | None = None
    extension_h: SpreadAbove0 | None = None


class Storage(SourcedTable):
    """Floor slots for crates."""

    slots_per_level: Count
