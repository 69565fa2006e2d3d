"""Whether more trials would change the answer: a percentile as trials are added, and under a second seed."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass

from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.estimates import Percentile, percentile
from towerpace.answers.prepare import Prepared
from towerpace.trials.job import Job
from towerpace.trials.run import run_trials
from towerpace.units import Ints

LIMIT = 1.959964  # standard errors, 95 %
FIRST = 25  # trials of the shortest run looked at


@dataclass(frozen=True)
class Stage:
    """A percentile of the first so many trials. [min]"""

    trials: int
    percentile: Percentile


@dataclass(frozen=True)
class SecondSeed:
    """The same percentile from trials of another seed. [min]

    agrees : whether they differ by no more than chance would (95 %); None where an interval is missing.
    """

    seed: int
    trials: int
    half: Percentile
    percentile: Percentile
    agrees: bool | None


def stages(finish: Ints, *, p: float = 0.8) -> list[Stage]:
    """A percentile over the first 25, 50, 100, ... trials and over all of them.

    finish : (n,) in the order of the trials, LATER beyond the horizon. [min]

    A longer run begins with the shorter one, so the stages are not independent.

    >>> [stage.trials for stage in stages(np.arange(130), p=0.8)]
    [25, 50, 100, 130]
    """
    sizes = [FIRST * 2**k for k in range(64) if FIRST * 2**k < len(finish)]
    return [Stage(n, percentile(finish[:n], p)) for n in [*sizes, len(finish)]]


def second_seed(
    ready: Prepared,
    first: Percentile,
    *,
    seed: int,
    trials: int,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> SecondSeed:
    """Play the plan under another seed and hold its percentile against the first."""
    job = Job(ready.chooser, FinishMeasure(None), seed)
    result = run_trials(job, trials=trials, executor=executor, on_done=on_done)
    if result.interrupted:
        raise KeyboardInterrupt
    finish = result.outcomes.values["finish"]
    other = percentile(finish, first.p)
    return SecondSeed(seed, trials, percentile(finish, 0.5), other, agree(first, other))


def agree(a: Percentile, b: Percentile) -> bool | None:
    """Whether two independent percentiles differ by no more than chance would; None without both intervals.

    Their difference is held against its own standard error, the root of the sum of both squares, each read
    off the width of a 95 % interval. One in twenty equal pairs is told apart. That two intervals overlap says
    less: it fails only where they lie about 2.8 errors apart.
    """
    errors = [_error(one) for one in (a, b)]
    if a.value is None or b.value is None or None in errors:
        return None
    return bool(abs(a.value - b.value) <= LIMIT * sum(e**2 for e in errors if e is not None) ** 0.5)


def _error(one: Percentile) -> float | None:
    """Standard error of a percentile. [min]"""
    if not one.bounded or one.low is None or one.high is None:
        return None
    return (one.high - one.low) / (2 * LIMIT)
