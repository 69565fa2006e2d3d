"""The mean finish of a scenario as a function of some of its numbers, for screening."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.estimates import LATER
from towerpace.answers.prepare import prepare
from towerpace.faults import Fault, InputError, nearest_word
from towerpace.scenario.load import Scenario
from towerpace.scenario.setups import changed
from towerpace.trials.job import Job
from towerpace.trials.run import played
from towerpace.units import DAY_MIN, Floats


@dataclass(frozen=True)
class MeanFinish:
    """Mean days to the finish over trials on common draws, so that equal points give equal answers. [d]

    keys : dotted keys, along the points. whole : which of them are rounded to whole numbers.
    """

    scenario: Scenario
    keys: tuple[str, ...]
    whole: tuple[bool, ...]
    trials: int
    seed: int
    executor: Executor | None = None
    on_done: Callable[[int], None] = lambda _: None

    def __call__(self, points: Floats) -> Floats:
        """Answers, (m,), of points, (m, k). Raises `InputError` for one that cannot be run."""
        return np.array([self.at(point) for point in points])

    def at(self, point: Floats) -> float:
        """Mean days to the finish at one point. [d]"""
        values = {
            key: round(float(value)) if whole else float(value)
            for key, value, whole in zip(self.keys, point, self.whole, strict=True)
        }
        scenario = changed(self.scenario, "screening", values).scenario
        job = Job(prepare(scenario).chooser, FinishMeasure(None), self.seed, one_of_many=True)
        outcomes = played(job, trials=self.trials, executor=self.executor, on_done=self.on_done)
        finish = outcomes.values["finish"]
        # A trial beyond the horizon counts as ending with it: the answer is then a lower bound.
        horizon = scenario.settings.tower.horizon_days * DAY_MIN
        return float(np.where(finish == LATER, horizon, finish).mean() / DAY_MIN)


def parse_ranges(
    texts: list[str], *, file: str, known: Mapping[str, object]
) -> dict[str, tuple[float, float]]:
    """Ranges stated as KEY=LOW:HIGH.

    known : keys among which a nearest word is looked for.

    Raises `InputError` with every one that cannot be read.
    """
    ranges: dict[str, tuple[float, float]] = {}
    faults = []
    for text in texts:
        key, equals, ends = text.partition("=")
        low, colon, high = ends.partition(":")
        try:
            ranges[key.strip()] = float(low), float(high)
        except ValueError:
            equals = ""
        if not (equals and colon) or not ranges[key.strip()][0] < ranges[key.strip()][1]:
            allowed = "KEY=LOW:HIGH with LOW below HIGH, as hoist.share=0.3:0.5"
            faults.append(Fault(file, None, "vary", text, allowed, nearest_word(key, known)))
    if faults:
        raise InputError(faults)
    return ranges


def is_whole(text: str) -> bool:
    """Whether both ends of a stated range are whole numbers, so that only whole numbers are tried.

    >>> is_whole("resource.hoist.count=1:3"), is_whole("hoist.share=0.3:0.5")
    (True, False)
    """
    ends = text.partition("=")[2].split(":")
    return all(end.strip().lstrip("+-").isdigit() for end in ends)
