"""The points of a study: which value every factor has at each, and what that changes in the scenario."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from math import prod

import numpy as np

from towerpace.draws import stream
from towerpace.scenario.study import StudyFile
from towerpace.scenario.study_schema import Factor
from towerpace.units import Floats

Cell = int | float | str | bool
Places = Floats
WHOLE, NUMBER, TEXT, TRUTH = "whole", "number", "text", "truth"


@dataclass(frozen=True)
class Point:
    """One point of a study.

    number : from 1. cells : value or label of every factor, as it stands in tables. changes : dotted keys and
    values laid over the scenario.
    """

    number: int
    cells: tuple[Cell, ...]
    changes: Mapping[str, object]
    seed: int

    def named(self, factors: Sequence[str]) -> str:
        """The point in words: point 17 (hoists=3, wind=9)."""
        values = ", ".join(f"{k}={_short(v)}" for k, v in zip(factors, self.cells, strict=True))
        return f"point {self.number} ({values})"


def _short(value: Cell) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


class Design:
    """All points of a study, made one at a time so that memory does not grow with them.

    factors : names, in the order of the file. kinds : what the cells of each hold, as WHOLE.
    """

    def __init__(self, study: StudyFile) -> None:
        head, factors = study.settings.study, study.settings.factor
        self.factors = tuple(factors)
        self._seed, self._independent = head.seed, head.draws == "independent"
        self._choices = [_choices(factor) for factor in factors.values()]
        self._all = list(factors.values())
        self._listed = study.settings.point
        self._unit = _unit_points(head.design, n=head.points or 0, d=len(factors), seed=head.seed)
        self._shape = [len(choices or ()) for choices in self._choices]
        self.n = {"grid": prod(self._shape), "list": len(self._listed)}.get(head.design, head.points or 0)
        self._pick = {"grid": self._of_grid, "list": self._of_list}.get(head.design, self._of_unit)
        self.kinds = tuple(self._kind(k) for k in range(len(self._all)))

    def __len__(self) -> int:
        return self.n

    def __iter__(self) -> Iterator[Point]:
        return (self.point(number) for number in range(1, self.n + 1))

    def point(self, number: int) -> Point:
        """One point, by its number from 1."""
        cells: list[Cell] = []
        changes: dict[str, object] = {}
        for k, (value, factor) in enumerate(zip(self._pick(number - 1), self._all, strict=True)):
            cells.append(_cell(value, kind=self.kinds[k]))
            changes.update(_changes(factor, value, choices=self._choices[k]))
        return Point(number, tuple(cells), changes, self._seed_of(number))

    def _seed_of(self, number: int) -> int:
        """The seed of the study; for independent draws another at every point, 53 bits as JSON holds."""
        if not self._independent:
            return self._seed
        digest = blake2b(f"{self._seed}/point {number}".encode(), digest_size=8).digest()
        return int.from_bytes(digest, "little") >> 11

    def _of_grid(self, k: int) -> list[object]:
        """The last factor changes fastest."""
        places = np.unravel_index(k, self._shape)
        return [choices[int(at)] for choices, at in zip(self._choices, places, strict=True) if choices]

    def _of_list(self, k: int) -> list[object]:
        return [self._listed[k][name] for name in self.factors]

    def _of_unit(self, k: int) -> list[object]:
        assert self._unit is not None, "a design of points in the unit cube"
        return [
            _within(factor, float(u), choices=choices)
            for factor, choices, u in zip(self._all, self._choices, self._unit[k], strict=True)
        ]

    def _kind(self, k: int) -> str:
        values = self._choices[k]
        if values is None and self._listed:
            values = [point[self.factors[k]] for point in self._listed]
        if values is None:
            return WHOLE if self._all[k].integer else NUMBER
        types = {type(value) for value in values}
        kinds = {bool: TRUTH, int: WHOLE, float: NUMBER}
        if types == {int, float}:
            return NUMBER
        return kinds.get(types.pop(), TEXT) if len(types) == 1 else TEXT


def _choices(factor: Factor) -> list[object] | None:
    """Labels of sets and tables, else the plain values; None for a range or values in the points."""
    if factor.labels is not None:
        return list(factor.labels)
    return None if factor.values is None else list(factor.values)


def _changes(factor: Factor, value: object, *, choices: list[object] | None) -> Mapping[str, object]:
    if factor.labels is not None and choices is not None:
        at = choices.index(value)
        if factor.replace is not None:
            return factor.replace[at]
        assert factor.values is not None, "labels stand beside values or sets"
        value = factor.values[at]
    assert factor.key is not None, "a factor without sets has a key"
    return {factor.key: value}


def _within(factor: Factor, u: float, *, choices: list[object] | None) -> object:
    """The value at a share of the range, every choice and whole number taking an equal part of [0, 1)."""
    if choices is not None:
        return choices[int(u * len(choices))]
    assert factor.low is not None, "a factor without choices has a range"
    assert factor.high is not None, "a range has two ends"
    low, high = float(factor.low), float(factor.high)
    if factor.integer:
        return int(low) + int(u * (int(high) - int(low) + 1))
    return low + u * (high - low)


def _unit_points(design: str, *, n: int, d: int, seed: int) -> Places | None:
    """Points in the unit cube, (n, d).

    Source: `scipy.stats.qmc`; McKay, Beckman & Conover (1979), Technometrics 21: 239-245, for latin;
    Owen (1998), J. Complexity 14: 466-489, for scrambled Sobol' points (both from memory).
    """
    from scipy.stats.qmc import LatinHypercube, Sobol

    if design not in ("latin", "sobol"):
        return None
    # The library makes its own generator, so it is given a number of our stream.
    key = int(stream(seed, 0, "points of a study").integers(2**32))
    if design == "latin":
        return np.asarray(LatinHypercube(d, seed=key).random(n))
    return np.asarray(Sobol(d, seed=key).random_base2(n.bit_length() - 1))


def _cell(value: object, *, kind: str) -> Cell:
    if kind == NUMBER:
        return float(str(value))
    if kind == WHOLE:
        return int(str(value))
    if kind == TRUTH:
        return bool(value)
    return value.isoformat() if isinstance(value, dt.date | dt.time) else str(value)
