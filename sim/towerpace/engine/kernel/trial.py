"""Where the trials of a plan are played: arrays set out anew for each, with its draw and its weather."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from towerpace.compiling.addresses import Laid
from towerpace.compiling.pages import Pages
from towerpace.draws import Draw, started_by
from towerpace.engine.kernel.air import Air
from towerpace.engine.kernel.arrays import (
    ClockArrays,
    Numbers,
    PoolArrays,
    Stamps,
    TrialArrays,
    WindowArrays,
)
from towerpace.engine.kernel.events import BEGIN, END, FIRST
from towerpace.units import Ints

# What changes while a trial runs, beside steps (`outset`); the trials of a plan share all other arrays.
CHANGING = {
    "pools": (
        *("free", "last_giver", "given_at", "has_gained", "gained"),
        *("unit_place", "unit_is_idle", "n_levels"),
    ),
    "windows": ("cursor",),
    "crowds": (
        *("tree", "first_key", "seen_at", "seen_tick", "n_fitting", "n_fits", "alarm"),
        *("waiting", "has_opened", "short_before", "tick", "gain_tick", "n_marks"),
    ),
    "clock": ("out_of_room",),
}
# What need not be copied for minute 0, but for the numbers that say how many follow.
WORK_SPACE = {
    "steps": (
        *("work", "date", "skip", "ready", "started", "finished", "enabler"),
        *("missing", "watched", "unit", "is_behind"),
    ),
    "pools": ("watchers", "set_aside", "line_keys", "level_min", "level_free"),
    "crowds": ("fit_classes", "fit_tick", "joined_tick", "mark_tick", "mark_before", "mark_giver"),
    "clock": ("future", "in_turn", "to_look_at", "released"),
}
STAMPS = ("ready", "started", "finished", "enabler")
PIECE = 8  # bytes: every array begins where any number may


class SetOut(NamedTuple):
    """A trial before anything happens.

    handed : to compiled code. kept : what it reads, and must outlive it. The others are its diary.
    """

    handed: Ints | TrialArrays
    kept: object
    ready: Stamps
    started: Stamps
    finished: Stamps
    enabler: Stamps


class OutsetArrays(NamedTuple):
    """What compiled code reads to put a room back to minute 0.

    memory : all that changes while a trial runs, in words. at_minute_0 : the same before anything happens.
    pools, clock : of the room, whose lists are emptied.
    """

    memory: Ints
    at_minute_0: Ints
    pools: PoolArrays
    clock: ClockArrays


class Room:
    """The arrays in which one thread plays the trials of a plan, one after the other.

    laid : their table. outset : what puts them back to minute 0.

    Each trial begins with one copy of a stretch of memory. New arrays for each would cost a tenth of it: the
    system hands out fresh memory page by page.
    """

    def __init__(self, start: TrialArrays) -> None:
        groups = {name: getattr(start, name) for name in start._fields}
        own = {name: group._asdict() for name, group in groups.items()}
        shapes = [(group, name, own[group][name]) for group, names in CHANGING.items() for name in names]
        ends = np.cumsum([-(-array.nbytes // PIECE) * PIECE for _, _, array in shapes]).tolist()
        words = np.zeros(ends[-1] // PIECE, dtype=np.int64)
        pages = Pages([words, *(own[group][name] for group, names in WORK_SPACE.items() for name in names)])
        self._words = pages.hold(words)
        self._memory = self._words.view(np.uint8)
        for (group, name, array), end in zip(shapes, ends, strict=True):
            at = end - -(-array.nbytes // PIECE) * PIECE
            own[group][name] = self._memory[at : at + array.nbytes].view(array.dtype).reshape(array.shape)
            own[group][name][...] = array
        self._at_minute_0 = self._memory.copy()
        for group, names in WORK_SPACE.items():
            own[group] |= {name: pages.hold(np.zeros_like(own[group][name])) for name in names}
        self._trial = TrialArrays(**{name: type(group)(**own[name]) for name, group in groups.items()})
        self.laid = Laid(self._trial)
        self.outset = OutsetArrays(self._words, self._words.copy(), self._trial.pools, self._trial.clock)
        self._n = len(start.steps.number)

    def set_out(self, *, draw: Draw, air: Air) -> SetOut:
        """A trial at minute 0.

        Raises
        ------
        ValueError
            If the minutes of the draw are not whole numbers.
        """
        check_whole(draw)
        self._memory[:] = self._at_minute_0
        self._empty_lists()
        stamps = {name: np.empty(self._n, dtype=np.int32) for name in STAMPS}
        drawn = {"work": laid_out(draw.work, np.int64), "date": laid_out(started_by(draw), np.int64)}
        drawn |= {"skip": laid_out(draw.skip, np.bool_)} | stamps
        others = {f"drawn.{name}": values for name, values in drawn.items()} | in_windows(air)
        others |= in_pins(draw, number=self.number)
        return SetOut(self.laid.but(others), others, **stamps)

    @property
    def trial(self) -> TrialArrays:
        """All arrays, as the trial that was played last left them."""
        return self._trial

    @property
    def number(self) -> Numbers:
        """Number in the plan of each step, (n,)."""
        return self._trial.steps.number

    def _empty_lists(self) -> None:
        pools, clock = self._trial.pools, self._trial.clock
        pools.watchers[pools.first_watcher[:-1]] = 0
        pools.set_aside[pools.first_watcher[:-1]] = 0
        pools.line_keys[pools.first_in_line[:-1]] = 0
        clock.future[0] = clock.to_look_at[0] = clock.released[0] = 0
        clock.in_turn[BEGIN] = clock.in_turn[END] = FIRST


def check_whole(draw: Draw) -> None:
    """Refuse minutes that are not whole numbers; raises `ValueError`."""
    for word, values in (("work", draw.work), ("date", draw.date)):
        if values.dtype.kind not in "iu":
            raise ValueError(f"draw: {word} must be whole minutes, got {values.dtype}")


def laid_out(numbers: NDArray[Any], dtype: type[np.generic]) -> NDArray[Any]:
    """The array as the kernel reads it: in one piece; a copy only if need be."""
    return np.ascontiguousarray(numbers, dtype)


def in_pins(draw: Draw, *, number: Numbers) -> dict[str, Any]:
    """What steps and clock say otherwise in a trial that goes on from what has been seen.

    number : of each step in the plan.
    """
    if draw.pins is None:
        return {}
    words = ("began", "ended", "left")
    seen = {f"steps.{word}": laid_out(getattr(draw.pins, word)[number], np.int64) for word in words}
    return seen | {"clock.data_date": draw.pins.data_date_min, "clock.has_pins": 1}


def in_windows(air: Air) -> dict[str, Any]:
    """What windows say otherwise in the weather of one trial."""
    return {
        "windows.value": air.values,
        "windows.day": laid_out(air.rows, np.int64),
        "windows.wind_factor": laid_out(air.factors, np.float64),
        "windows.n_hours": air.n_hours,
    }


def windows_in(windows: WindowArrays, air: Air) -> WindowArrays:
    """The windows in the weather of one trial, at minute 0."""
    others = {name.removeprefix("windows."): value for name, value in in_windows(air).items()}
    return windows._replace(cursor=windows.cursor.copy(), **others)
