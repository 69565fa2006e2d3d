"""Hoist trips: crates up, empty crates down, and the stops in which the masts are extended.

Source of the travel time: R. D. Peters (1995), Ideal lift kinematics, quoted in CIBSE Guide D (from memory);
the values in its examples were derived a second time from the motion itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import sqrt

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.columns import Handed, Words
from towerpace.plan.lists import START, WORK
from towerpace.plan.site.drafting import Draft, DrawnMinutes, Uncertain
from towerpace.plan.site.fronts import FIRST, HOISTING, Front, StepKey, handover_step
from towerpace.plan.site.leaving import stop_needs
from towerpace.plan.site.logistics import Crate
from towerpace.plan.site.numbers import Numbers
from towerpace.plan.site.sequence import Precedence
from towerpace.scenario.schema import Hoist, Settings
from towerpace.scenario.spreads import Spread
from towerpace.units import HOUR_MIN, Floats


def hoist_of(settings: Settings) -> Hoist:
    """The hoist of the scenario."""
    assert settings.hoist is not None, "the scenario is checked when it is loaded"
    return settings.hoist


def trip_minutes(loading: str, unloading: str) -> DrawnMinutes:
    """The whole way there and back, as a share of the hoist's time, with what is drawn at both ends."""
    terms = (
        Uncertain(lambda n: hoist_of(n.settings).load_min, loading),
        Uncertain(lambda n: hoist_of(n.settings).unload_min, unloading),
    )
    return DrawnMinutes(
        terms, factor=lambda n: 1 / float(hoist_of(n.settings).share), fixed=_there_and_back_min
    )


def ride_minutes() -> DrawnMinutes:
    """What an empty crate costs the car that takes it down with it: no way of its own."""
    term = Uncertain(_ride_min, "empty riding down")
    return DrawnMinutes((term,), factor=lambda n: 1 / float(hoist_of(n.settings).share))


def _ride_min(numbers: Numbers) -> Spread:
    minutes = hoist_of(numbers.settings).empties_ride_min
    assert minutes is not None, "asked for only where empty crates ride down"
    return minutes


def _there_and_back_min(numbers: Numbers) -> Floats:
    """Minutes under way to each front and back, (n_fronts,). [min]"""
    hoist = hoist_of(numbers.settings)
    one_way_s = [
        travel_s(
            float(height_m),
            speed_m_s=float(hoist.speed_m_s),
            acceleration_m_s2=float(hoist.acceleration_m_s2),
            jerk_m_s3=None if hoist.jerk_m_s3 is None else float(hoist.jerk_m_s3),
        )
        for height_m in numbers.levels.height_m
    ]
    return np.repeat([2 * way_s / 60 for way_s in one_way_s], len(numbers.levels.zones))


def _rides(hoist: Hoist) -> bool:
    return hoist.empties_ride_min is not None


@dataclass(frozen=True, slots=True)
class Trip:
    """A hoist trip: its name, what others call it, how its minutes are drawn and under which item.

    panel : number of the only panel that comes up, if it is one.
    """

    name: Words
    kind: str
    minutes: DrawnMinutes
    item: int
    panel: int = NONE


@dataclass
class Hoisting:
    """Writes the hoist trips of one panel trade; counts crates as it goes."""

    draft: Draft
    name: str
    order: Precedence
    crates: int = 0
    items: dict[tuple[int, int], int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._up = trip_minutes("hoist loading", "hoist unloading")
        rides = self.draft.ask(lambda n: n.settings.hoist is not None and _rides(n.settings.hoist))
        self._down = ride_minutes() if rides else trip_minutes("empty loading", "empty unloading")

    def up(
        self, front: Front, crate: Crate, *, after: list[int | StepKey], gives: list[Handed], rank: int
    ) -> int:
        """Up and down again with one crate."""
        item = self.items[front.number, crate.number] = self.crates
        self.crates += 1
        name = (self.name, " ", front.where, ": crate ", crate.number, " up")
        trip = Trip(name, "hoist trip", self._up, item)
        return self.trip(front, trip, after=after, gives=gives, rank=rank + crate.number)

    def pass_by(self) -> None:
        """Count a crate that never comes by hoist: those behind it keep their own times of loading."""
        self.crates += 1

    def down(
        self, front: Front, crate: Crate, *, after: list[int | StepKey], gives: list[Handed], rank: int
    ) -> int:
        """Down with an empty crate: up with nothing first, unless it rides with a car that came up anyway.

        Nobody waits for such a car, as cars come to every level all day; it must only be free for a moment.
        """
        item = self.items[front.number, crate.number]
        name = (self.name, " ", front.where, ": crate ", crate.number, " down")
        trip = Trip(name, "empty crate down", self._down, item)
        return self.trip(front, trip, after=after, gives=gives, rank=rank + crate.number)

    def trip(
        self,
        front: Front,
        trip: Trip,
        *,
        after: list[int | StepKey],
        gives: Sequence[Handed] = (),
        rank: int,
        remedy: int = NONE,
    ) -> int:
        """A trip to a front, within the hours and limits of the hoist.

        remedy : flag under which it does not take place, of a trip that no plan counts on.
        """
        hoist, height_m = hoist_of(self.draft.settings), float(self.order.levels.height_m[front.floor])
        return self.draft.add(
            trip.name,
            after=after,
            needs=self.draft.units({hoist.resource: 1}),
            gives=gives,
            window=self.draft.closures.window(
                hoist.calendar, limits=hoist.limits, height_m=height_m, also=hoist.night
            ),
            mode=START,
            rank=rank,
            flag=remedy,
            planned=remedy == NONE,
            tags=self.draft.tags(HOISTING, front, kind=trip.kind),
            panel=trip.panel,
            minutes=trip.minutes,
            item=trip.item,
            place=front.number,
        )


def _extension_h(numbers: Numbers) -> Spread:
    hours = hoist_of(numbers.settings).extension_h
    assert hours is not None, "asked for only where masts are extended"
    return hours


def add_extensions(draft: Draft, order: Precedence) -> None:
    """Every car stops once for each extension, when its trip ends.

    Each car has a step of its own: one step for all cars would wait until they stand still at one time.
    """
    hoist, levels = draft.settings.hoist, order.levels
    if hoist is None or hoist.extension_levels is None:
        return
    every = hoist.extension_levels
    minutes = DrawnMinutes((Uncertain(_extension_h, "mast extension"),), factor=lambda _: HOUR_MIN)
    for unit in range(1, draft.settings.resource[hoist.resource].count + 1):
        before: list[int] = []
        for k, floor in enumerate(range(every - 1, len(levels.levels), every)):
            height_m = float(levels.height_m[floor])
            stop = draft.add(
                f"{hoist.resource} {unit}: mast extension {k + 1}",
                after=[handover_step(levels.levels[floor]), *before],
                needs=stop_needs(draft, hoist.resource, unit),
                window=draft.closures.window(hoist.calendar, limits=hoist.limits, height_m=height_m),
                mode=WORK,
                rank=FIRST,
                optional=True,
                tags=draft.tags(level=levels.levels[floor], kind="mast extension"),
                minutes=minutes,
                item=k,
            )
            before = [stop]


def travel_s(
    distance_m: float, *, speed_m_s: float, acceleration_m_s2: float, jerk_m_s3: float | None = None
) -> float:
    """Seconds of a hoist from standstill to standstill over a distance. [s]

    distance_m : height difference, >= 0. [m]
    speed_m_s, acceleration_m_s2 : rated speed and acceleration, > 0. [m/s], [m/s2]
    jerk_m_s3 : rate of change of acceleration; None for a step in acceleration. [m/s3]

    Raises `ValueError` for a negative distance or a rating that is not positive.

    >>> round(travel_s(90, speed_m_s=1.5, acceleration_m_s2=0.5), 4)
    63.0
    >>> round(travel_s(90, speed_m_s=1.5, acceleration_m_s2=0.5, jerk_m_s3=0.6), 4)
    63.8333
    """
    d, v, a, j = distance_m, speed_m_s, acceleration_m_s2, jerk_m_s3
    if d < 0:
        raise ValueError(f"distance_m: must be >= 0 m, got {d}")
    if min(v, a, 1.0 if j is None else j) <= 0:
        raise ValueError(f"speed, acceleration and jerk must be > 0, got {v}, {a}, {j}")
    if d == 0:
        return 0.0
    if j is None:
        return d / v + v / a if d >= v**2 / a else 2 * sqrt(d / a)
    ramp = a / j
    if v < a * ramp:
        # The rated speed is reached before the rated acceleration: the ramp ends at sqrt(v / j).
        a, ramp = sqrt(v * j), sqrt(v / j)
    if d >= v * (v / a + ramp):
        return d / v + v / a + ramp
    if d >= 2 * a * ramp**2:
        return ramp + sqrt(4 * d / a + ramp**2)
    return float((32 * d / j) ** (1 / 3))
