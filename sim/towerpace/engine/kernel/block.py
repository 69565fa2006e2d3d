"""Some trials of a plan played in one call: their draws and diaries side by side, set out once for all.

A trial by itself is handed arrays of its own, whose addresses Python writes down for it. Here the arrays are
the same from block to block, so that their addresses are written once, and a block is one call in which no
thread needs Python's lock. Whoever reads the diaries adds calls of his own behind each trial.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from towerpace.compiling.addresses import Laid, at_addresses
from towerpace.compiling.chain import Chain
from towerpace.compiling.jit import trial_entry
from towerpace.draws import Draw, started_by
from towerpace.engine.diary import Diary
from towerpace.engine.kernel.air import Air, air_of
from towerpace.engine.kernel.arrays import TrialArrays
from towerpace.engine.kernel.events import BEGIN, END, FIRST
from towerpace.engine.kernel.play import play
from towerpace.engine.kernel.stamp import stamp_of_sources
from towerpace.engine.kernel.tables import compiled
from towerpace.engine.kernel.trial import STAMPS, OutsetArrays, Room, check_whole, in_pins, in_windows
from towerpace.plan.chance import DrawnTogether
from towerpace.plan.model import Plan

MOST = 20  # trials of a block: Ctrl-C and the page step in between two
OWN_CALLS = 2  # of each trial: put back the room, and play
Calls = Sequence[tuple[Callable[[Any], bool], Any]]

outset_at = at_addresses(OutsetArrays)


def _stamped(stamp: int) -> Callable[[Any], bool]:
    """The entry, with the stamp of the kernel's sources built in."""

    def put_back(table: Any) -> bool:
        """Put a room back to minute 0, with empty lists."""
        outset = outset_at(table)
        for word in range(len(outset.memory)):
            outset.memory[word] = outset.at_minute_0[word]
        pools, clock = outset.pools, outset.clock
        for pool in range(len(pools.first_watcher) - 1):
            pools.watchers[pools.first_watcher[pool]] = 0
            pools.set_aside[pools.first_watcher[pool]] = 0
        for line in range(len(pools.first_in_line) - 1):
            pools.line_keys[pools.first_in_line[line]] = 0
        clock.future[0] = clock.to_look_at[0] = clock.released[0] = 0
        clock.in_turn[BEGIN] = clock.in_turn[END] = FIRST
        return stamp >= 0

    return trial_entry(put_back)


put_back = _stamped(stamp_of_sources(Path(__file__)))


class Block:
    """Room for so many trials of a plan, of one thread.

    work, date, skip : of each, (size, n). [min]  ready, started, finished, enabler : their diaries,
        (size, n) int32, lent until the next block is played.
    drawn : work, date and skip together, into which trials are drawn.
    """

    def __init__(self, plan: Plan, size: int = MOST) -> None:
        self.plan, self.size = plan, size
        self._tables = compiled(plan)
        self._room = Room(self._tables.start)
        self.drawn = DrawnTogether.room_for(size, plan.n)
        self.work, self.date, self.skip = self.drawn.work, self.drawn.date, self.drawn.skip
        stamps = np.zeros((len(STAMPS), size, plan.n), dtype=np.int32)
        self.ready, self.started, self.finished, self.enabler = stamps
        self._put_back = Laid(self._room.outset).but({})
        self._reading: Callable[[int], Calls] = lambda _: ()
        self._air: Air | None = None
        self._odd: dict[int, object] = {}  # what tables of single trials point to

    def read_by(self, reading: Callable[[int], Calls]) -> None:
        """Have calls made behind every trial; reading : those behind trial k of a block."""
        self._reading, self._air = reading, None

    @property
    def trial(self) -> TrialArrays:
        """What the kernel reads and writes, as the trial played last left it: for calls behind it."""
        return self._room.trial

    def of(self, name: str, k: int) -> Any:
        """One of the arrays of trial k."""
        return getattr(self, name)[k]

    def in_windows(self, k: int) -> dict[str, Any]:
        """What windows say otherwise in the weather of trial k."""
        assert self._air is not None
        return in_windows(self._air._replace(rows=self._days[k], factors=self._factors[k]))

    def play(self, draws: Sequence[Draw]) -> bool:
        """Play trials from minute 0 on.

        False, with nothing played, if one goes on from what was seen or has weather of its own, and calls are
        made behind each: these read what all trials have in common.

        Raises
        ------
        ValueError
            If a draw does not fit the plan, or brings no hours where limits need them.
        RuntimeError
            If the kernel's own bookkeeping fails; the diaries are then not to be had.
        """
        airs = [air_of(draw.hours, self._tables.variables) for draw in draws]
        if self._air is None or not _alike(airs[0], self._air):
            self._lay_out(airs[0])
        is_usual = [self._set_out(k, *trial) for k, trial in enumerate(zip(draws, airs, strict=True))]
        if not all(is_usual) and self._each > OWN_CALLS:
            return False
        answers = self._chain.run(self._each * len(draws)).reshape(len(draws), -1)
        for draw, is_played in zip(draws, answers[:, 1].tolist(), strict=True):
            if not is_played:
                draw.check(self.plan)
                raise RuntimeError("the kernel ran out of room, which its tables should rule out")
        return True

    def diary(self, k: int) -> Diary:
        """What happened in trial k, lent until the next block is played."""
        return Diary(self.plan, *(self.of(name, k) for name in STAMPS))

    def _lay_out(self, air: Air) -> None:
        """Write the tables of all trials, for weather of one record."""
        self._air = air
        self._days = np.zeros((self.size, len(air.rows)), dtype=np.int64)
        self._factors = np.zeros((self.size, len(air.rows)))
        self._usual = [self._room.laid.but(self._drawn(k) | self.in_windows(k)) for k in range(self.size)]
        behind = [tuple(self._reading(k)) for k in range(self.size)]
        self._each = OWN_CALLS + len(behind[0])
        self._chain = Chain(self._each * self.size)
        self._odd.clear()
        for k, calls in enumerate(behind):
            own = ((put_back, self._put_back), (play, self._usual[k]), *calls)
            for at, (called, table) in enumerate(own, start=k * self._each):
                self._chain.put(at, called, table)

    def _drawn(self, k: int) -> dict[str, Any]:
        return {f"drawn.{name}": self.of(name, k) for name in ("work", "date", "skip", *STAMPS)}

    def _set_out(self, k: int, draw: Draw, air: Air) -> bool:
        """Write a draw into its place; False where it was seen in part, or has weather of its own."""
        check_whole(draw)
        if not all(values.shape == (self.plan.n,) for values in (draw.work, draw.date, draw.skip)):
            draw.check(self.plan)
        if draw.pins is not None or self.plan.rigid:
            draw.check(self.plan)
        place = self.drawn.each[k]
        own = ((place.work, draw.work), (place.date, started_by(draw)), (place.skip, draw.skip))
        for there, drawn in own:
            if drawn is not there:
                there[:] = drawn
        assert self._air is not None
        if draw.pins is None and _alike(air, self._air):
            self._days[k], self._factors[k] = air.rows, air.factors
            if self._odd.pop(k, None) is not None:
                self._chain.put(k * self._each + 1, play, self._usual[k])
            return True
        others: Mapping[str, Any] = self._drawn(k) | in_windows(air) | in_pins(draw, number=self._room.number)
        self._odd[k] = others
        self._chain.put(k * self._each + 1, play, self._room.laid.but(others))
        return False


def _alike(air: Air, other: Air) -> bool:
    """Whether weather differs in nothing but which days of a record come when, and how windy they are."""
    is_of_record = air.values is other.values or air.values.size == other.values.size == 0
    return is_of_record and air.n_hours == other.n_hours and air.rows.shape == other.rows.shape
