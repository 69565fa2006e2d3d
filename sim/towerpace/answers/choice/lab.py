"""Trials of many set-ups on common draws, played when asked for and kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np

from towerpace.answers.choice.stated import planned
from towerpace.answers.cost import CostBook, cost_book
from towerpace.answers.estimates import LATER
from towerpace.answers.prepare import Prepared, prepare
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.scenario.load import Scenario
from towerpace.scenario.setups import SetUp
from towerpace.trials.job import Job
from towerpace.trials.outcome import Outcome, Outcomes
from towerpace.trials.player import BLOCK, TrialPlayer
from towerpace.trials.run import play_block, sent_to
from towerpace.trials.team import Team
from towerpace.units import Ints


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
class _Played:
    """A set-up, and the results of its trials so far. block : plays trials from one to before another."""

    block: Callable[[int, int], Future[Outcomes] | Outcomes]
    finish: Ints
    cost: Ints


class Lab:
    """Plays set-ups under one seed; trial k of every set-up is under the same draw.

    after : number of the first trial's draw: a lab that begins after another's last trial has fresh draws.
    spent : trials played in all.
    """

    def __init__(
        self,
        seed: int,
        *,
        after: int = 0,
        executor: Executor | None = None,
        on_done: Callable[[int], None] = lambda _: None,
    ) -> None:
        self._seed, self._after, self._executor, self._on_done = seed, after, executor, on_done
        self._played: dict[str, _Played] = {}
        self.spent = 0

    def fresh(self, *, after: int) -> Lab:
        """Another lab of the same seed, whose trials begin after so many of this one's."""
        return Lab(self._seed, after=self._after + after, executor=self._executor, on_done=self._on_done)

    def make_ready(self, base: Scenario, setups: Sequence[SetUp]) -> None:
        """Plan set-ups before any of them is played; raises `InputError` with the faults of all of them."""
        for setup, ready in zip(setups, planned(base, setups), strict=True):
            self._of(setup, ready)

    def results(self, setups: Sequence[SetUp], upto: int) -> tuple[Ints, Ints]:
        """Finish [min] and cost of trials 0 .. upto - 1 of several set-ups, each (m, upto)."""
        waiting: list[tuple[_Played, list[Future[Outcomes] | Outcomes]]] = []
        played = [self._of(setup) for setup in setups]
        for own in {id(own): own for own in played}.values():
            blocks = [(a, min(a + BLOCK, upto)) for a in range(len(own.finish), upto, BLOCK)]
            waiting.append((own, [own.block(*block) for block in blocks]))
        for own, parts in waiting:
            for part in parts:
                outcomes = part.result() if isinstance(part, Future) else part
                own.finish = np.concatenate((own.finish, outcomes.values["finish"]))
                own.cost = np.concatenate((own.cost, outcomes.values["cost"]))
                self.spent += outcomes.n
                self._on_done(outcomes.n)
        return np.array([p.finish[:upto] for p in played]), np.array([p.cost[:upto] for p in played])

    def played(self, setup: SetUp) -> int:
        """Trials of a set-up that are finished."""
        own = self._played.get(setup.scenario.hash)
        return 0 if own is None else min(len(own.finish), len(own.cost))

    def _of(self, setup: SetUp, prepared: Prepared | None = None) -> _Played:
        """Equal scenarios share their trials, whatever they are called."""
        key = setup.scenario.hash
        if key not in self._played:
            ready = prepare(setup.scenario) if prepared is None else prepared
            costs = cost_book(setup.scenario.settings, tower=ready.tower, days=ready.days)
            job = Job(ready.chooser, FinishMeasure(costs), self._seed, one_of_many=True)
            nothing = np.zeros(0, dtype=np.int64)
            self._played[key] = _Played(self._player(job), nothing, nothing)
        return self._played[key]

    def _player(self, job: Job) -> Callable[[int, int], Future[Outcomes] | Outcomes]:
        """Plays blocks of a job, here or on the executor, to which it is packed once."""
        first = self._after
        if self._executor is None:
            play = TrialPlayer(job)
            return lambda start, stop: play.block(first + start, first + stop)
        executor, sent = self._executor, sent_to(self._executor, job)
        return lambda start, stop: executor.submit(play_block, sent, first + start, first + stop)


@contextmanager
def processes(workers: int) -> Iterator[Executor | None]:
    """Processes of our own for many jobs; none for one worker."""
    if workers == 1:
        yield None
        return
    with Team(workers) as team:
        yield team


def counts_of(setup: SetUp) -> Mapping[str, int]:
    """Units of every resource."""
    return {name: r.count for name, r in setup.scenario.settings.resource.items()}
