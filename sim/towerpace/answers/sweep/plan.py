"""A study made ready: its points, checked before the first trial, and how long they will take."""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path
from time import perf_counter

from towerpace.answers.prepare import prepare
from towerpace.answers.sweep.design import Design, Point
from towerpace.answers.sweep.executors import Carrier
from towerpace.answers.sweep.responses import measure_of
from towerpace.answers.sweep.source import Source, files_named, packed
from towerpace.answers.sweep.store import StudyManifest, stamp
from towerpace.answers.sweep.tasks import Task, check_point
from towerpace.answers.sweep.trials import TrialsRule
from towerpace.faults import Fault, InputError
from towerpace.scenario.changes import parse_key
from towerpace.scenario.complaints import Complaint, dotted
from towerpace.scenario.load import load
from towerpace.scenario.plausible import warnings_of
from towerpace.scenario.study import StudyFile, content_of
from towerpace.trials.job import Job
from towerpace.trials.player import TrialPlayer


@dataclass(frozen=True)
class Workload:
    """What is going to be played.

    left : points still to be played. point_s, trial_s : to make one point ready, and to play one trial. [s]
    """

    name: str
    points: int
    left: int
    rule: TrialsRule
    workers: int
    point_s: float
    trial_s: float

    @property
    def seconds(self) -> float:
        """Estimated time; at the most, where the number of trials depends on what is found. [s]"""
        return self.left * (self.point_s + self.rule.most * self.trial_s) / self.workers


class Study:
    """A study with its points and the hash of the scenario at each.

    base : the scenario without changes. hashes : one a point, filled by `check`.
    """

    def __init__(self, file: StudyFile) -> None:
        self.file, self.design, self.base = file, Design(file), load(file.scenario)
        head = file.settings.study
        within = None if head.p80_within_days is None else float(head.p80_within_days)
        self.rule = TrialsRule(head.trials or head.most_trials or 1, within)
        self.hashes: list[str] = []
        self._tree = tomllib.loads(Path(file.scenario).read_text(encoding="utf-8-sig"))
        named = file.settings.model_dump(exclude={"study": {"scenario"}})
        self.files = sorted(files_named([self._tree, named], folder=self.base.folder))
        self.source = Source(file.scenario)

    def pack(self) -> None:
        """Send the files along, for workers on machines that do not see them."""
        self.source = packed(self.file.scenario, self.files)

    def manifest(self) -> StudyManifest:
        """What the folder will say; its hash is that of the content."""
        head, texts = self.file.settings.study, [response.text for response in self.file.responses]
        keys = content_of(self._tree)
        digests = {name: _digest(self.base.folder / name) for name in self.files}
        content = json.dumps([self.file.content, keys, digests], ensure_ascii=True, sort_keys=False)
        return StudyManifest(
            name=head.name,
            scenario=self.base.settings.tower.name,
            scenario_hash=self.base.hash,
            hash=hashlib.sha256(content.encode()).hexdigest(),
            seed=head.seed,
            design=head.design,
            draws=head.draws,
            points=len(self.design),
            factors=list(self.design.factors),
            kinds=list(self.design.kinds),
            responses=texts,
            quantities=list(dict.fromkeys(response.quantity for response in self.file.responses)),
            keep_trials=head.keep_trials,
            study=dict(self.file.content),
            scenario_keys=keys,
            files=digests,
            **stamp(),  # type: ignore[arg-type]  # words by name, checked when read
        )

    def task(self, point: Point) -> Task:
        """A point for a worker."""
        head = self.file.settings.study
        digest = self.hashes[point.number - 1]
        return Task(
            point.number,
            point.changes,
            point.seed,
            digest,
            self.source,
            self.file.responses,
            self.rule,
            head.keep_trials,
        )

    def load_points(self, *, strict: bool = False) -> None:
        """Load the scenario of every point; raises `InputError` with all faults, naming the points.

        strict : whether what is only unusual at a point is a fault too.
        """
        faults = FaultsOfPoints(self)
        self.hashes = []
        for point in self.design:
            try:
                scenario = load(self.file.scenario, point.changes)
                self.hashes.append(scenario.hash)
                if strict:
                    faults.add(point, tuple(doubt.fault() for doubt in warnings_of(scenario)))
            except InputError as error:
                self.hashes.append("")
                faults.add(point, error.faults)
        faults.refuse()

    def check_points(self, executor: Executor, *, window: int, on_checked: Callable[[int], None]) -> float:
        """Make every scenario ready once, on the workers; raises `InputError` with all faults.

        Returns the mean time that took. [s]
        """
        first = {digest: number for number, digest in reversed([*enumerate(self.hashes, 1)])}
        alike: dict[int, list[int]] = {}
        for number, digest in enumerate(self.hashes, 1):
            alike.setdefault(first[digest], []).append(number)
        faults, seconds = FaultsOfPoints(self), []
        tasks = (self.task(self.design.point(number)) for number in alike)
        for checked in Carrier(executor, check_point, window=window).results(tasks):
            seconds.append(checked.seconds)
            on_checked(len(alike[checked.number]))
            for number in alike[checked.number]:
                faults.add(self.design.point(number), checked.faults, wrong=checked.wrong)
        faults.refuse()
        return sum(seconds) / len(seconds)

    def estimate(self, left: Sequence[int], *, workers: int) -> Workload:
        """How long the rest will take, from a trial of its first and its last point, played here.

        left : numbers of the points still to be played. The ends of a grid are opposite corners of it.
        """
        clocks = [self._timed(self.design.point(number)) for number in (left[0], left[-1])]
        point_s, trial_s = (sum(seconds) / len(clocks) for seconds in zip(*clocks, strict=True))
        name = self.file.settings.study.name
        return Workload(name, len(self.design), len(left), self.rule, workers, point_s, trial_s)

    def _timed(self, point: Point) -> tuple[float, float]:
        """Time to make a point ready, and of one trial after another that warms up. [s]"""
        begin = perf_counter()
        ready = prepare(load(self.file.scenario, point.changes))
        point_s = perf_counter() - begin
        job = Job(ready.chooser, measure_of(self.file.responses, ready), point.seed)
        play = TrialPlayer(job)
        play.block(0, 1)
        begin = perf_counter()
        play.block(1, 2)
        return point_s, perf_counter() - begin


class FaultsOfPoints:
    """Faults of many points; equal ones are said once, with the first point and how many more."""

    def __init__(self, study: Study) -> None:
        self._study = study
        self._points: dict[Fault, list[Point]] = {}

    def add(
        self, point: Point, faults: Iterable[Fault], *, wrong: Iterable[tuple[int, Complaint]] = ()
    ) -> None:
        """Faults of a point's scenario, and what is wrong with the responses there."""
        for fault in faults:
            self._points.setdefault(self._of_study(fault), []).append(point)
        for k, complaint in wrong:
            key = ("study", "responses", k)
            fault = self._study.file.fault(
                key, found=complaint.found, allowed=complaint.allowed, nearest=complaint.nearest
            )
            self._points.setdefault(fault, []).append(point)

    def _of_study(self, fault: Fault) -> Fault:
        """A fault that a change has made stands at the factor that makes the change."""
        key = fault.key.removeprefix("set ")
        for name, factor in self._study.file.settings.factor.items():
            sets = [list(keys) for keys in factor.replace or ()]
            for text in [*([factor.key] if factor.key else []), *(k for keys in sets for k in keys)]:
                changed = dotted(parse_key(text))
                if fault.key != key and (key == changed or key.startswith((f"{changed}.", f"{changed}["))):
                    line = self._study.file.line(("factor", name))
                    return replace(fault, file=self._study.file.path, line=line, key=key)
        return fault

    def refuse(self) -> None:
        """Raise all that was found, if anything."""
        if self._points:
            raise InputError(
                replace(fault, key=f"{self._where(points)}: {fault.key}")
                for fault, points in self._points.items()
            )

    def _where(self, points: list[Point]) -> str:
        if len(points) == len(self._study.design) and len(points) > 1:
            return "every point"
        more = "" if len(points) == 1 else f" and {len(points) - 1} more"
        return points[0].named(self._study.design.factors) + more


def _digest(path: Path) -> str:
    content = path.read_bytes().replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return hashlib.sha256(content).hexdigest()
