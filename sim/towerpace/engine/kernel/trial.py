"""The arrays of one trial: copies of those at minute 0, with the draw and its weather put in."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from towerpace.draws import Draw
from towerpace.engine.kernel.air import Air
from towerpace.engine.kernel.arrays import TrialArrays, WindowArrays

# What changes while a trial runs; all other arrays are shared by the trials of a plan. What need not be set
# out at minute 0, but for the zero that says how many numbers follow, is made anew instead of copied.
CHANGING = {
    "steps": ("ready", "started", "finished", "enabler", "missing", "watched", "unit", "is_behind"),
    "pools": ("free", "last_giver", "given_at", "has_gained", "gained", "unit_place", "unit_is_idle"),
    "crowds": (
        *("tree", "first_key", "seen_at", "seen_tick", "n_fitting", "n_fits", "alarm"),
        *("waiting", "has_opened", "short_before", "tick", "gain_tick", "n_marks"),
    ),
    "clock": ("out_of_room",),
}
WORK_SPACE = {
    "pools": ("watchers", "set_aside", "line_keys"),
    "crowds": ("fit_classes", "fit_tick", "joined_tick", "mark_tick", "mark_before", "mark_giver"),
    "clock": ("future", "to_look_at", "released"),
}


def trial_of(start: TrialArrays, *, draw: Draw, air: Air) -> TrialArrays:
    """The arrays of one trial, before anything happens.

    Raises
    ------
    ValueError
        If the minutes of the draw are not whole numbers.
    """
    for word, values in (("work", draw.work), ("date", draw.date)):
        if values.dtype.kind not in "iu":
            raise ValueError(f"draw: {word} must be whole minutes, got {values.dtype}")
    own: dict[str, dict[str, Any]] = {}
    for group, names in CHANGING.items():
        own[group] = {name: getattr(getattr(start, group), name).copy() for name in names}
    for group, names in WORK_SPACE.items():
        own[group] |= {name: np.zeros_like(getattr(getattr(start, group), name)) for name in names}
    own["steps"] |= {
        "work": laid_out(draw.work, np.int64),
        "date": laid_out(draw.date, np.int64),
        "skip": laid_out(draw.skip, np.bool_),
    }
    return TrialArrays(
        steps=start.steps._replace(**own["steps"]),
        pools=start.pools._replace(**own["pools"]),
        windows=windows_in(start.windows, air),
        crowds=start.crowds._replace(**own["crowds"]),
        clock=start.clock._replace(**own["clock"]),
    )


def laid_out(numbers: NDArray[Any], dtype: type[np.generic]) -> NDArray[Any]:
    """The array as the kernel was compiled for it: in one piece and not read-only; a copy only if need be."""
    return np.require(numbers, dtype, ["C", "W"])


def windows_in(windows: WindowArrays, air: Air) -> WindowArrays:
    """The windows in the weather of one trial, at minute 0."""
    return windows._replace(
        cursor=windows.cursor.copy(),
        value=air.values,
        day=air.rows.astype(np.int64),
        wind_factor=air.factors.astype(np.float64),
        n_hours=air.n_hours,
    )
