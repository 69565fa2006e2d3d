"""The way of an activity that goes through the tower level by level, and who waits for which level of it."""

from __future__ import annotations

from towerpace.plan.site.fronts import StepKey, activity_at, activity_done
from towerpace.scenario.levels import Levels
from towerpace.scenario.schema import Activity

Band = tuple[int, ...]  # floors that are done in one go, 0 the lowest


def bands_of(activity: Activity, levels: Levels) -> tuple[Band, ...]:
    """Floors of every go of an activity, in the order of its work; none if it belongs to no level."""
    if activity.levels is None:
        return ()
    first, last = (levels.index(level) for level in activity.levels)
    towards = 1 if first < last else -1
    floors, size = tuple(range(first, last + towards, towards)), activity.band_levels
    return tuple(floors[k : k + size] for k in range(0, len(floors), size))


def done_at(name: str, activity: Activity, *, floor: int, levels: Levels) -> StepKey | None:
    """The step at whose end an activity is done at a floor of the tower, or beyond it.

    Beyond its last level that is all of the activity: what follows with a lead never overtakes it. Before its
    first level nothing is to be done: None.
    """
    assert activity.levels is not None, "asked for only of an activity that goes level by level"
    first, last = (levels.index(level) for level in activity.levels)
    if min(first, last) <= floor <= max(first, last):
        return activity_at(name, levels.levels[floor])
    beyond = floor > last if first < last else floor < last
    return activity_done(name) if beyond else None


def named(name: str, band: Band, levels: Levels) -> str:
    """What people call an activity at some levels."""
    ends = dict.fromkeys((band[0], band[-1]))
    return f"{name} " + " to ".join(f"L{levels.levels[floor]}" for floor in ends)
