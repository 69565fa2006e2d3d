"""Plays the trials of one job in this process, one by one or in blocks."""

from __future__ import annotations

import gc
import logging
from functools import partial
from threading import local
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from towerpace.draws import Draw
from towerpace.engine.fastest import engine_named
from towerpace.engine.kernel import available
from towerpace.engine.openings import Openings
from towerpace.plan.chance import DrawnTogether
from towerpace.trials.first_time import compile_together
from towerpace.trials.job import Job
from towerpace.trials.outcome import (
    BlockReader,
    Outcome,
    Outcomes,
    Reader,
    ReadsBlocks,
    joined,
    read_one_by_one,
    stacked,
)
from towerpace.trials.shared_draws import SHARED

if TYPE_CHECKING:  # imported, it would import numba
    from towerpace.engine.kernel.block import Block

BLOCK = 10  # trials that are played together, or sent to a worker
_log = logging.getLogger("towerpace")


class _Rooms(local):
    """Of each thread what plays blocks for one player, and where their trials are drawn."""

    def __init__(self) -> None:
        self.of: WeakKeyDictionary[TrialPlayer, tuple[BlockReader, DrawnTogether]] = WeakKeyDictionary()


# Set-ups are played in turn, some of them hundreds: a thread has room for the one in hand.
_OF_SETUPS = _Rooms()


class TrialPlayer:
    """Plays trials of one job.

    is_in_blocks : whether trials are played together, which is as fast as it gets.
    """

    def __init__(self, job: Job) -> None:
        self._chooser, self._seed = job.chooser, job.seed
        self._shares = job.chooser.fingerprint() if job.one_of_many else None
        self._run = engine_named(job.engine)
        if job.engine != "reference":
            compile_together()
        self._read: Reader = job.measure.reader()
        self.is_in_blocks = job.engine != "reference" and available()
        self._rooms = _OF_SETUPS if job.one_of_many else _Rooms()
        # The plan and what was prepared live as long as the job: the collector need not look at them again.
        gc.collect()
        gc.freeze()

    def __call__(self, trial: int) -> Outcome:
        plan = self._chooser.plan
        draw = self._draw(trial)
        openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
        return self._read(draw, openings, self._run(plan, draw, openings=openings))

    @property
    def reads_blocks(self) -> bool:
        """Whether trials are read together, in compiled code without Python's lock."""
        return self.is_in_blocks and isinstance(self._read, ReadsBlocks)

    def go_one_by_one(self) -> None:
        """Play trials one by one from here on, in the memory of one."""
        if self.is_in_blocks:
            self._rooms.of.clear()
            self.is_in_blocks, self._rooms = False, _Rooms()
            _log.warning("Memory runs short: trials are played one by one from here on.")

    def block(self, start: int, stop: int) -> Outcomes:
        """Trials start .. stop - 1 together."""
        if not self.is_in_blocks:
            return stacked(self(trial) for trial in range(start, stop))
        parts = [self._of_block(range(k, min(k + BLOCK, stop))) for k in range(start, stop, BLOCK)]
        return parts[0] if len(parts) == 1 else joined(parts)

    def _of_block(self, trials: range) -> Outcomes:
        read, room = self._in_blocks
        played = read(self._draws(trials, room))
        return stacked(self(trial) for trial in trials) if played is None else played

    @property
    def _in_blocks(self) -> tuple[BlockReader, DrawnTogether]:
        """What plays blocks in this thread, and where their trials are drawn."""
        rooms = self._rooms  # another thread may go one by one meanwhile
        own = rooms.of.get(self)
        if own is None:
            from towerpace.engine.kernel.block import Block

            rooms.of.clear()
            block = Block(self._chooser.plan, BLOCK)
            own = rooms.of[self] = self._reader_of(block), block.drawn
        return own

    def _reader_of(self, block: Block) -> BlockReader:
        if isinstance(self._read, ReadsBlocks):
            return self._read.in_blocks(block)
        return partial(read_one_by_one, self._read, block)

    def _draws(self, trials: range, into: DrawnTogether) -> list[Draw]:
        """The draws of some trials together; into : room for them."""
        if self._shares is None:
            return self._chooser.draws(self._seed, trials, into=into)
        return SHARED.draws(self._chooser, self._shares, seed=self._seed, trials=trials, into=into)

    def _draw(self, trial: int) -> Draw:
        if self._shares is None:
            return self._chooser.draw(self._seed, trial)
        return SHARED.draw(self._chooser, self._shares, seed=self._seed, trial=trial)
