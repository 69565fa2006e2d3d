"""What a worker does for one point of a study: check it, or play its trials."""

from __future__ import annotations

import platform
from collections.abc import Mapping
from dataclasses import dataclass, field
from time import perf_counter

from towerpace import __version__
from towerpace.answers.prepare import Prepared, prepare
from towerpace.answers.sweep.estimates import ResponseEstimate, estimate, in_units
from towerpace.answers.sweep.responses import measure_of, unknown
from towerpace.answers.sweep.source import Source
from towerpace.answers.sweep.trials import TrialsRule, play_by
from towerpace.engine.names import EngineName, engine_asked
from towerpace.faults import Fault, InputError
from towerpace.scenario.complaints import Complaint
from towerpace.scenario.load import load
from towerpace.scenario.study_responses import Response, parse_response
from towerpace.trials.job import Job
from towerpace.units import Floats, Ints

_FINISH = parse_response("finish.p80")


@dataclass(frozen=True)
class Task:
    """One point for a worker, with all it needs.

    hash : of the scenario at the point, as the machine that started the study sees it. engine : plays it.
    """

    number: int
    changes: Mapping[str, object]
    seed: int
    hash: str
    source: Source
    responses: tuple[Response, ...]
    rule: TrialsRule
    keep_trials: bool = False
    version: str = __version__
    engine: EngineName = field(default_factory=engine_asked)


@dataclass(frozen=True)
class Played:
    """A finished point. trials : every quantity in its unit, (n,) each, if they are kept."""

    number: int
    estimates: tuple[ResponseEstimate, ...]
    trials: Mapping[str, Floats] | None


@dataclass(frozen=True)
class Checked:
    """A point that was made ready. seconds : that took. [s]"""

    number: int
    faults: tuple[Fault, ...]
    wrong: tuple[tuple[int, Complaint], ...]
    seconds: float


def check_point(task: Task) -> Checked:
    """Make a point ready for trials and look for the faults that only show then."""
    begin = perf_counter()
    try:
        ready = _ready(task)
    except InputError as error:
        return Checked(task.number, error.faults, (), perf_counter() - begin)
    seconds = perf_counter() - begin
    complaints = ((k, unknown(response, ready)) for k, response in enumerate(task.responses))
    wrong = tuple((k, complaint) for k, complaint in complaints if complaint is not None)
    return Checked(task.number, (), wrong, seconds)


def play_point(task: Task) -> Played:
    """Play the trials of a point.

    Raises `InputError` where this machine has another version or sees another scenario.
    """
    ready = _ready(task)
    watched = () if task.rule.within_days is None else (_FINISH,)
    measure = measure_of((*task.responses, *watched), ready)
    job = Job(ready.chooser, measure, task.seed, one_of_many=True, engine=task.engine)
    values: Mapping[str, Ints] = play_by(task.rule, job).values
    rows = tuple(estimate(response, values[response.quantity]) for response in task.responses)
    kept = {r.quantity: values[r.quantity] for r in task.responses} if task.keep_trials else {}
    trials = in_units(kept, responses=task.responses) if task.keep_trials else None
    return Played(task.number, rows, trials)


def _ready(task: Task) -> Prepared:
    if task.version != __version__:
        raise InputError([_mismatch("version", f"towerpace {__version__}", f"towerpace {task.version}")])
    scenario = load(task.source.place(), task.changes)
    if scenario.hash != task.hash:
        raise InputError([_mismatch("scenario", f"hash {scenario.hash[:12]}", f"hash {task.hash[:12]}")])
    return prepare(scenario)


def _mismatch(key: str, found: str, allowed: str) -> Fault:
    where = f"worker on {platform.node() or 'this machine'}"
    return Fault(where, None, key, found, f"{allowed}, as where the study was started")
