"""Plays the trials of one job in this process, one by one or in blocks."""

from __future__ import annotations

import gc
import logging
from threading import local

from towerpace.draws import SHARED, Draw
from towerpace.engine.fastest import engine_named
from towerpace.engine.kernel import available
from towerpace.engine.openings import Openings
from towerpace.plan.chance import DrawnTogether
from towerpace.trials.first_time import compile_together
from towerpace.trials.job import Job
from towerpace.trials.outcome import BlockReader, Outcome, Outcomes, Reader, ReadsBlocks, joined, stacked

BLOCK = 10  # trials that are played together, or sent to a worker
_log = logging.getLogger("towerpace")


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
        self.is_in_blocks = isinstance(self._read, ReadsBlocks) and job.engine != "reference" and available()
        self._blocks = local()
        # The plan and what was prepared live as long as the job: the collector need not look at them again.
        gc.collect()
        gc.freeze()

    def __call__(self, trial: int) -> Outcome:
        plan = self._chooser.plan
        (draw,) = self._draws(range(trial, trial + 1))
        openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
        return self._read(draw, openings, self._run(plan, draw, openings=openings))

    def go_one_by_one(self) -> None:
        """Play trials one by one from here on, in the memory of one."""
        if self.is_in_blocks:
            self.is_in_blocks, self._blocks = False, local()
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
        blocks = self._blocks  # another thread may go one by one meanwhile
        if not hasattr(blocks, "own"):
            from towerpace.engine.kernel.block import Block

            assert isinstance(self._read, ReadsBlocks)
            block = Block(self._chooser.plan, BLOCK)
            blocks.own = self._read.in_blocks(block), block.drawn
        own: tuple[BlockReader, DrawnTogether] = blocks.own
        return own

    def _draws(self, trials: range, into: DrawnTogether | None = None) -> list[Draw]:
        """The draws of some trials; into : room for them, as of a block."""
        if self._shares is not None:
            return [SHARED.draw(self._chooser, self._shares, seed=self._seed, trial=t) for t in trials]
        if into is None:
            return [self._chooser.draw(self._seed, trial) for trial in trials]
        return self._chooser.draws(self._seed, trials, into=into)
