"""Morris screening and Sobol indices of any function of uncertain numbers, as SALib computes them.

SALib is imported only when asked for: it comes with the extra `sensitivity`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from types import ModuleType
from typing import Any

import numpy as np

from towerpace.faults import Fault, InputError
from towerpace.units import Floats

Function = Callable[[Floats], Floats]
Ranges = Mapping[str, tuple[float, float]]
LEVELS = 4  # of the Morris grid


@dataclass(frozen=True)
class Effect:
    """Elementary effects of one number over its whole range, in the unit of the answer.

    mu : mean. mu_star : mean without sign; half : of its 95 % interval. sigma : deviation; large beside
    mu_star where the effect bends or depends on the other numbers.
    """

    name: str
    low: float
    high: float
    mu: float
    mu_star: float
    half: float
    sigma: float


@dataclass(frozen=True)
class Index:
    """Sobol indices of one number: first order and total, with the halves of their 95 % intervals. [-]"""

    name: str
    low: float
    high: float
    first: float
    first_half: float
    total: float
    total_half: float


@dataclass(frozen=True)
class Screened:
    """What a screening found, the strongest first.

    runs : of the function. constant : whether it never changed; then every number is 0.
    """

    method: str
    runs: int
    constant: bool
    effects: tuple[Effect, ...] = ()
    indices: tuple[Index, ...] = ()
    pairs: Mapping[tuple[str, str], float] | None = None


def morris_runs(k: int, *, trajectories: int) -> int:
    """Runs of the function for k numbers.

    >>> morris_runs(7, trajectories=10)
    80
    """
    return trajectories * (k + 1)


def sobol_runs(k: int, *, n: int, pairs: bool = False) -> int:
    """Runs of the function for k numbers.

    >>> sobol_runs(3, n=1024), sobol_runs(3, n=1024, pairs=True)
    (5120, 8192)
    """
    return n * (2 * k + 2 if pairs else k + 2)


def morris(function: Function, ranges: Ranges, *, trajectories: int, seed: int) -> Screened:
    """Elementary effects.

    function : answers, (m,), of m points, (m, k), in the order of `ranges`.

    Raises `InputError` without SALib, `ValueError` for a range that does not rise or too few trajectories.

    Sources: Morris (1991), Technometrics 33: 161-174; Campolongo, Cariboni & Saltelli (2007), Environmental
    Modelling & Software 22: 1509-1518 for mu_star (both from memory).
    """
    if trajectories < 2:
        raise ValueError(f"need at least two trajectories, got {trajectories}")
    sampler, analyser, problem = _salib("sample.morris"), _salib("analyze.morris"), _problem(ranges)
    points = sampler.sample(problem, trajectories, num_levels=LEVELS, seed=seed)
    answers = _answers(function, points)
    if np.ptp(answers) == 0:
        none = (Effect(name, low, high, 0.0, 0.0, 0.0, 0.0) for name, (low, high) in ranges.items())
        return Screened("Morris", len(points), True, effects=tuple(none))
    found = analyser.analyze(problem, points, answers, num_levels=LEVELS, scaled=False, seed=seed)
    columns = (found["mu"], found["mu_star"], found["mu_star_conf"], found["sigma"])
    effects = [
        Effect(name, low, high, *(float(column[k]) for column in columns))
        for k, (name, (low, high)) in enumerate(ranges.items())
    ]
    effects.sort(key=lambda effect: (-effect.mu_star, effect.name))
    return Screened("Morris", len(points), False, effects=tuple(effects))


def sobol(function: Function, ranges: Ranges, *, n: int, seed: int, pairs: bool = False) -> Screened:
    """Shares of the variance of the answer, each number uniform over its range.

    function : answers, (m,), of m points, (m, k), in the order of `ranges`. n : a power of two.
    pairs : whether to find the second order indices too.

    Raises `InputError` without SALib, `ValueError` for a range that does not rise or an n that is no power of
    two.

    Sources: Saltelli et al. (2010), Computer Physics Communications 181: 259-270 (from memory).
    """
    if n < 2 or n & (n - 1):
        raise ValueError(f"n must be a power of two from 2 up, got {n}")
    sampler, analyser, problem = _salib("sample.sobol"), _salib("analyze.sobol"), _problem(ranges)
    points = sampler.sample(problem, n, calc_second_order=pairs, seed=seed)
    answers = _answers(function, points)
    if np.ptp(answers) == 0:
        none = (Index(name, low, high, 0.0, 0.0, 0.0, 0.0) for name, (low, high) in ranges.items())
        return Screened("Sobol", len(points), True, indices=tuple(none))
    found = analyser.analyze(problem, answers, calc_second_order=pairs, seed=seed)
    columns = (found["S1"], found["S1_conf"], found["ST"], found["ST_conf"])
    indices = [
        Index(name, low, high, *(float(column[k]) for column in columns))
        for k, (name, (low, high)) in enumerate(ranges.items())
    ]
    indices.sort(key=lambda index: (-index.total, index.name))
    second = _pairs(list(ranges), found["S2"]) if pairs else None
    return Screened("Sobol", len(points), False, indices=tuple(indices), pairs=second)


def _pairs(names: Sequence[str], table: Floats) -> dict[tuple[str, str], float]:
    return {
        (names[i], names[j]): float(table[i, j]) for i in range(len(names)) for j in range(i + 1, len(names))
    }


def _answers(function: Function, points: Floats) -> Floats:
    answers = np.asarray(function(points), dtype=np.float64)
    if answers.shape != (len(points),) or not np.isfinite(answers).all():
        raise ValueError(f"the function must give {len(points)} finite answers")
    return answers


def _problem(ranges: Ranges) -> dict[str, Any]:
    wrong = [name for name, (low, high) in ranges.items() if not low < high]
    if wrong or not ranges:
        raise ValueError(f"every range must rise from low to high: {', '.join(wrong) or 'there is none'}")
    return {
        "num_vars": len(ranges),
        "names": list(ranges),
        "bounds": [list(ends) for ends in ranges.values()],
    }


def _salib(module: str) -> ModuleType:
    try:
        return import_module(f"SALib.{module}")
    except ImportError:
        found = "asked for without SALib"
        allowed = "pip install 'towerpace[sensitivity]'"
        raise InputError([Fault("towerpace", None, "sensitivity", found, allowed)]) from None
