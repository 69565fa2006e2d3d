"""Trials of a scenario's set-ups on any executor, kept in a file as they come, so that a search can go on.

A search is made of its trials and its seed alone. So it is taken up again by asking the same: what the file
keeps is not played once more, and every step that was taken is taken again in no time.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

import numpy as np

from towerpace import __version__
from towerpace.answers.choose.goal import Sample
from towerpace.answers.choose.keeping import Kept, Part
from towerpace.answers.choose.open_setups import OpenSetUps
from towerpace.answers.choose.space import Point
from towerpace.answers.cost import CostBook, cost_book
from towerpace.answers.estimates import LATER
from towerpace.answers.prepare import prepare
from towerpace.answers.sweep.executors import Carrier, Here
from towerpace.answers.sweep.source import Source, files_named, packed
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.names import EngineName, engine_asked
from towerpace.engine.openings import Openings
from towerpace.faults import Fault, InputError
from towerpace.scenario.load import load
from towerpace.scenario.own import Own
from towerpace.trials.job import Job
from towerpace.trials.outcome import Outcome, stacked
from towerpace.trials.player import TrialPlayer

BLOCK = 50  # trials of a task
FRESH = 1_000_000  # number of the first trial that no search has seen
READY = 8  # set-ups that a process keeps ready


@dataclass(frozen=True)
class ItemsMeasure:
    """Finish, and cost by item, of every trial."""

    costs: CostBook | None

    def reader(self) -> ItemsMeasure:
        """The measure reads by itself."""
        return self

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:  # noqa: ARG002  one interface
        """Finish [min], and cost in thousandths of the unit, of one trial; LATER beyond the horizon."""
        finish = LATER if diary.finish is None else diary.finish
        costs = np.zeros(0, dtype=np.int64) if self.costs is None else self.costs.of(diary)
        return Outcome({"finish": np.asarray(finish), "cost": costs}, {})


@dataclass(frozen=True)
class Task:
    """Trials [first, last) of a set-up for a worker. changes : laid over the file."""

    point: Point
    changes: Mapping[str, object]
    seed: int
    first: int
    last: int
    source: Source
    own: tuple[Own, ...] = ()
    version: str = __version__
    engine: EngineName = field(default_factory=engine_asked)


def play_part(task: Task) -> tuple[Point, Part]:
    """Play the trials of a task; raises `InputError` on a machine with another version."""
    if task.version != __version__:
        found, allowed = f"towerpace {__version__}", f"towerpace {task.version}, as where it was asked"
        raise InputError([Fault("a worker", None, "version", found, allowed)])
    written = json.dumps(task.changes, sort_keys=True, default=str)
    play, items = _player(task.source, written, _Whole(task))
    outcomes = stacked(play(trial) for trial in range(task.first, task.last))
    costs = outcomes.values["cost"].reshape(outcomes.n, len(items))
    late = np.any(costs == LATER, axis=1)
    sums = np.where(late, LATER, np.where(costs == LATER, 0, costs).sum(axis=1))
    by_item = dict(zip(items, costs[~late].sum(axis=0).tolist(), strict=True))
    return task.point, Part(task.first, outcomes.values["finish"], sums, by_item)


class _Whole:
    """A task that a memory of players does not compare: what tells players apart stands beside it."""

    def __init__(self, task: Task) -> None:
        self.task = task

    def __eq__(self, other: object) -> bool:
        mine = (self.task.seed, self.task.engine)
        return isinstance(other, _Whole) and mine == (other.task.seed, other.task.engine)

    def __hash__(self) -> int:
        return hash((self.task.seed, self.task.engine))


@lru_cache(maxsize=READY)
def _player(
    source: Source,
    written: str,  # noqa: ARG001  tells players apart
    whole: _Whole,
) -> tuple[TrialPlayer, tuple[str, ...]]:
    """The player of a set-up, and the items of its cost."""
    task = whole.task
    ready = prepare(load(source.place(), task.changes, own=task.own))
    costs = cost_book(ready.scenario.settings, tower=ready.tower, days=ready.days)
    job = Job(ready.chooser, ItemsMeasure(costs), task.seed, one_of_many=True, engine=task.engine)
    return TrialPlayer(job), (() if costs is None else costs.items)


class Played:
    """Plays the set-ups that decisions leave open, see `Trials`.

    kept : takes what is played, and has what was played before. executor : plays it; this process if none.
    window : tasks on their way. on_done : told how many trials have just been finished.
    """

    def __init__(
        self,
        opened: OpenSetUps,
        *,
        seed: int,
        kept: Kept,
        executor: Executor | None = None,
        window: int = 1,
        on_done: Callable[[int], None] = lambda _: None,
    ) -> None:
        self._opened, self._seed, self._kept, self._on_done = opened, seed, kept, on_done
        self._executor, self._window = executor or Here(), window
        self._source = _source(opened, is_far=executor is not None)
        self._asked: dict[tuple[Point, bool], int] = {}

    @property
    def spent(self) -> int:
        """Trials asked for, in all, whether played now or before."""
        return sum(self._asked.values())

    def played(self, point: Point, *, fresh: bool) -> int:
        """Trials of a point that were asked for."""
        return self._asked.get((point, fresh), 0)

    def results(self, points: Sequence[Point], upto: Sequence[int], *, fresh: bool) -> list[Sample]:
        """Trials 0 .. upto - 1 of each point; `fresh` ones are under draws of their own."""
        start = FRESH if fresh else 0
        tasks = []
        # Set-ups that share their steps and their draws come one after the other, so that they are had once.
        for point, n in sorted(zip(points, upto, strict=True), key=lambda asked: self._opened.kin(asked[0])):
            has = self._kept.has(self._changes(point), start)
            cuts = [has, *range(has - has % BLOCK + BLOCK, n, BLOCK), n]
            tasks += [self._task(point, start + a, start + b) for a, b in pairwise(cuts) if a < b]
        carrier = Carrier(self._executor, play_part, window=self._window)
        try:
            for done in carrier.results(tasks):
                self._keep(done)
        except KeyboardInterrupt:
            for done in carrier.leftovers():
                self._keep(done)
            raise
        for point, n in zip(points, upto, strict=True):
            self._asked[point, fresh] = max(n, self.played(point, fresh=fresh))
        return [self._kept.sample(self._changes(p), start, n) for p, n in zip(points, upto, strict=True)]

    def items(self, point: Point) -> tuple[dict[str, float], int]:
        """Cost of a point by item, summed over fresh trials, and how many trials these are.

        Whole blocks of them, so that nothing hangs on what a file keeps from other questions.
        """
        n = self.played(point, fresh=True)
        return self._kept.items(self._changes(point), FRESH, FRESH + (n - n % BLOCK or n))

    def _keep(self, done: tuple[Point, Part]) -> None:
        point, part = done
        self._kept.add(self._changes(point), part)
        self._on_done(len(part.finish))

    def _changes(self, point: Point) -> dict[str, object]:
        return self._opened.changes(point)

    def _task(self, point: Point, first: int, last: int) -> Task:
        base = self._opened.scenario
        changes = {**base.changes, **self._changes(point)}
        return Task(point, changes, self._seed, first, last, self._source, base.own)


def _source(opened: OpenSetUps, *, is_far: bool) -> Source:
    """The files of the scenario; packed up where others may not see them."""
    base = opened.scenario
    if not is_far:
        return Source(base.path)
    import tomllib
    from pathlib import Path

    tree = tomllib.loads(Path(base.path).read_text(encoding="utf-8-sig"))
    named = files_named(tree, folder=base.folder) | files_named(dict(base.changes), folder=base.folder)
    return packed(base.path, named)
