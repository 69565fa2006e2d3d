"""What `bench_bars` measures of trials in blocks: share under Python's lock, threads beside processes.

A worker's time is what it ran and what it stood blocked, as for the lock. What it stood in the queue of a
busy machine is left out where the system tells it, so that a loaded machine hurts less.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from statistics import median
from threading import Thread, get_native_id
from time import perf_counter, process_time
from typing import Any

from bench_build import bare_loop

from towerpace.answers.cost import cost_book
from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import Prepared
from towerpace.engine.kernel.block import Block
from towerpace.plan.chance import DrawnTogether
from towerpace.trials.job import Job
from towerpace.trials.player import BLOCK, TrialPlayer

# Where Python calls compiled code of a block, which runs without its lock.
ENTRIES = (
    ("towerpace.compiling.chain", "call_all"),
    ("towerpace.scenario.spread_rows", "draw_row"),
    ("towerpace.plan.together", "write_minutes"),
    ("towerpace.plan.site.losses", "lose"),
)
TRIALS = 4 * BLOCK


def player(ready: Prepared) -> TrialPlayer:
    """Who plays the trials of a forecast, with all that is made once."""
    play = TrialPlayer(Job(ready.chooser, ForecastMeasure(ready.tower, None), 1))
    play.block(0, BLOCK)
    return play


def in_blocks(ready: Prepared, runs: int) -> list[float]:
    """A trial played and read in blocks, in bare loops."""
    play, values = player(ready), []
    for _ in range(runs):
        loops, blocks = [], []
        for start in range(0, 2 * TRIALS, BLOCK):
            loops.append(bare_loop())
            begin = process_time()
            play.block(start, start + BLOCK)
            blocks.append(process_time() - begin)
        values.append(median(blocks) / BLOCK / median(loops))
    return values


def draws_in_blocks(ready: Prepared, runs: int) -> list[float]:
    """The draws of a trial in blocks, each behind a block that was played, in bare loops."""
    play, chooser, values = player(ready), ready.chooser, []
    into = DrawnTogether.room_for(BLOCK, ready.tower.plan.n)
    for _ in range(runs):
        loops, blocks = [], []
        for start in range(0, TRIALS, BLOCK):
            loops.append(bare_loop())
            play.block(start, start + BLOCK)
            begin = process_time()
            chooser.draws(1, range(start, start + BLOCK), into=into)
            blocks.append(process_time() - begin)
        values.append(median(blocks) / BLOCK / median(loops))
    return values


def read_in_blocks(ready: Prepared, runs: int) -> list[float]:
    """What reading adds to a trial that is played in a block, ledger, milestones and costs; in bare loops."""
    plan, values = ready.tower.plan, []
    costs = cost_book(ready.scenario.settings, tower=ready.tower, days=ready.days)
    alone, block = Block(plan, BLOCK), Block(plan, BLOCK)
    read = ForecastMeasure(ready.tower, costs).reader().in_blocks(block)
    for _ in range(runs):
        loops, added = [], []
        for start in range(0, 2 * TRIALS, BLOCK):
            draws = [ready.chooser.draw(1, trial) for trial in range(start, start + BLOCK)]
            loops.append(bare_loop())
            marks = [process_time()]
            for play in (alone.play, read):
                play(draws)
                marks.append(process_time())
            added.append(marks[2] - 2 * marks[1] + marks[0])
        values.append(median(added) / BLOCK / median(loops))
    return values


def under_the_lock(ready: Prepared, runs: int) -> list[float]:
    """Share of a trial outside compiled code, in which numpy lets the lock go only in long loops. [-]"""
    play, shares = player(ready), []
    for _ in range(runs):
        with _timed_entries() as inside:
            begin = process_time()
            play.block(0, TRIALS)
            shares.append(1 - sum(inside) / (process_time() - begin))
    return shares


@contextmanager
def _timed_entries() -> Iterator[list[float]]:
    inside: list[float] = []
    modules = [(import_module(name), word) for name, word in ENTRIES]
    own = [getattr(module, word) for module, word in modules]
    for (module, word), called in zip(modules, own, strict=True):
        setattr(module, word, _timed(called, inside))
    try:
        yield inside
    finally:
        for (module, word), called in zip(modules, own, strict=True):
            setattr(module, word, called)


def _timed(called: Callable[..., Any], inside: list[float]) -> Callable[..., Any]:
    def timing(*given: Any) -> Any:
        begin = process_time()
        answer = called(*given)
        inside.append(process_time() - begin)
        return answer

    return timing


def times_as_fast(ready: Prepared, runs: int) -> tuple[list[float], list[float]]:
    """How many times as fast two threads and two copied processes play as one alone, run by run. [-]"""
    play, threads, copies = player(ready), [], []
    _in_threads(play)
    for _ in range(runs):
        alone_s = _spent(play)
        threads.append(2 * alone_s / max(_in_threads(play)))
        copies.append(2 * alone_s / max(_in_copies(play)))
    return threads, copies


def _spent(play: TrialPlayer) -> float:
    begin, queued_s = perf_counter(), _queued_s()
    play.block(0, TRIALS)
    return perf_counter() - begin - (_queued_s() - queued_s)


def _queued_s() -> float:
    """Seconds that this thread has stood in the queue for a core; 0 where the system does not tell."""
    told = Path(f"/proc/self/task/{get_native_id()}/schedstat")
    return int(told.read_text(encoding="ascii").split()[1]) / 1e9 if told.exists() else 0.0


def _in_threads(play: TrialPlayer) -> list[float]:
    spent: list[float] = []
    threads = [Thread(target=lambda: spent.append(_spent(play))) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return spent


def _in_copies(play: TrialPlayer) -> list[float]:
    ends = []
    for _ in range(2):
        end, far = os.pipe()
        if os.fork() == 0:
            os.write(far, str(_spent(play)).encode())
            os._exit(0)
        os.close(far)
        ends.append(end)
    spent = [float(os.read(end, 100)) for end in ends]
    for end in ends:
        os.close(end)
        os.wait()
    return spent
