"""Trials of many set-ups on common draws, played when asked for and kept."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import get_context

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.choice.stated import planned
from towerpace.answers.cost import CostBook, cost_book
from towerpace.answers.estimates import LATER
from towerpace.answers.prepare import Prepared, prepare
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.scenario.load import Scenario
from towerpace.scenario.setups import SetUp
from towerpace.trials.outcome import Outcome, Outcomes
from towerpace.trials.run import BLOCK, Job, ignore_interrupts, play_block

Ints = NDArray[np.int64]


@dataclass(frozen=True)
class FinishMeasure:
    """Finish and total cost of every trial, nothing else: what a search needs."""

    costs: CostBook | None

    def reader(self) -> FinishMeasure:
        """The measure reads by itself."""
        return self

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:  # noqa: ARG002  one interface
        """Finish [min], and cost in thousandths of the unit, of one trial; LATER beyond the horizon."""
        finish = LATER if diary.finish is None else diary.finish
        cost = 0
        if self.costs is not None:
            cost = LATER if finish == LATER else int(self.costs.of(diary).sum())
        return Outcome({"finish": np.asarray(finish), "cost": np.asarray(cost)}, {})


@dataclass
class _Bench:
    """One set-up: its packed job, and the results so far."""

    packed: bytes
    finish: Ints
    cost: Ints


class Lab:
    """Plays set-ups under one seed; trial k of every set-up is under the same draw.

    spent : trials played in all.
    """

    def __init__(
        self, seed: int, *, executor: Executor | None = None, on_done: Callable[[int], None] = lambda _: None
    ) -> None:
        self._seed, self._executor, self._on_done = seed, executor, on_done
        self._benches: dict[str, _Bench] = {}
        self.spent = 0

    def make_ready(self, base: Scenario, setups: Sequence[SetUp]) -> None:
        """Plan set-ups before any of them is played; raises `InputError` with the faults of all of them."""
        for setup, ready in zip(setups, planned(base, setups), strict=True):
            self._bench(setup, ready)

    def results(self, setups: Sequence[SetUp], upto: int) -> tuple[Ints, Ints]:
        """Finish [min] and cost of trials 0 .. upto - 1 of several set-ups, each (m, upto)."""
        waiting: list[tuple[_Bench, list[Future[Outcomes] | Outcomes]]] = []
        benches = [self._bench(setup) for setup in setups]
        for bench in {id(b): b for b in benches}.values():
            done = len(bench.finish)
            blocks = [(a, min(a + BLOCK, upto)) for a in range(done, upto, BLOCK)]
            waiting.append((bench, [self._play(bench, *block) for block in blocks]))
        for bench, parts in waiting:
            for part in parts:
                outcomes = part.result() if isinstance(part, Future) else part
                bench.finish = np.concatenate((bench.finish, outcomes.values["finish"]))
                bench.cost = np.concatenate((bench.cost, outcomes.values["cost"]))
                self.spent += outcomes.n
                self._on_done(outcomes.n)
        return np.array([b.finish[:upto] for b in benches]), np.array([b.cost[:upto] for b in benches])

    def _play(self, bench: _Bench, start: int, stop: int) -> Future[Outcomes] | Outcomes:
        if self._executor is None:
            return play_block(bench.packed, start, stop)
        return self._executor.submit(play_block, bench.packed, start, stop)

    def _bench(self, setup: SetUp, made: Prepared | None = None) -> _Bench:
        """Equal scenarios share their trials, whatever they are called."""
        key = setup.scenario.hash
        if key not in self._benches:
            ready = prepare(setup.scenario) if made is None else made
            costs = cost_book(setup.scenario.settings, tower=ready.tower, days=ready.days)
            packed = pickle.dumps(Job(ready.chooser, FinishMeasure(costs), self._seed))
            nothing = np.zeros(0, dtype=np.int64)
            self._benches[key] = _Bench(packed, nothing, nothing)
        return self._benches[key]


@contextmanager
def processes(workers: int) -> Iterator[Executor | None]:
    """A pool of processes; none for one worker."""
    if workers == 1:
        yield None
        return
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=ignore_interrupts) as pool:
        try:
            yield pool
        except KeyboardInterrupt:
            pool.shutdown(wait=True, cancel_futures=True)
            raise


def counts_of(setup: SetUp) -> Mapping[str, int]:
    """Units of every resource."""
    return {name: r.count for name, r in setup.scenario.settings.resource.items()}
