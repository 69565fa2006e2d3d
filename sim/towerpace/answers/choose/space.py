"""The set-ups that decisions leave open: points of a lattice, their neighbours and what lies between them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from math import prod
from typing import TypeAlias

import numpy as np

from towerpace.units import Flags, Ints

Point: TypeAlias = tuple[int, ...]
MOST_COUNTED = 100_000
WALK = 20  # steps of a random walk a coordinate and point wanted


@dataclass(frozen=True)
class Axis:
    """A decision as a coordinate.

    size : options. standing : that of the file. in_order : whether one option is a step from the next. when :
    options of other axes, by their number, with which it is open. apart : axes that do not depart from the
    file together with it.
    """

    name: str
    size: int
    standing: int = 0
    in_order: bool = True
    when: Mapping[int, frozenset[int]] = field(default_factory=dict)
    apart: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Space:
    """Every set-up: an option of each axis, as far as conditions leave them open.

    Examples
    --------
    >>> space = Space((Axis("hoists", 3), Axis("night hoisting", 2, when={0: frozenset({2})})))
    >>> space.count, list(space.neighbours((1, 0)))
    (4, [(0, 0), (2, 0)])
    >>> list(space.neighbours((2, 1)))
    [(1, 0), (2, 0)]
    """

    axes: tuple[Axis, ...]

    @property
    def standing(self) -> Point:
        """The file as it is."""
        return tuple(axis.standing for axis in self.axes)

    @cached_property
    def product(self) -> int:
        """Options of every axis multiplied: set-ups if there were no conditions."""
        return prod(axis.size for axis in self.axes)

    @cached_property
    def count(self) -> int | None:
        """How many set-ups there are; None where they are too many to be counted under their conditions."""
        if not any(axis.when or axis.apart for axis in self.axes):
            return self.product
        return sum(1 for _ in self.all()) if self.product <= MOST_COUNTED else None

    def all(self) -> Iterator[Point]:
        """Every set-up once, in order."""
        for point in product(*(range(axis.size) for axis in self.axes)):
            if self.holds(point):
                yield point

    def holds(self, point: Point) -> bool:
        """Whether its conditions allow a point."""
        return self.closed_where_shut(point) == point and not self._clashes(point)

    def closed_where_shut(self, point: Point) -> Point:
        """The point with the file's option on every axis that is not open there."""
        at = list(point)
        changed = True
        while changed:
            changed = False
            for number, axis in enumerate(self.axes):
                is_open = all(at[other] in options for other, options in axis.when.items())
                if not is_open and at[number] != axis.standing:
                    at[number], changed = axis.standing, True
        return tuple(at)

    def _clashes(self, point: Point) -> bool:
        away = {number for number, axis in enumerate(self.axes) if point[number] != axis.standing}
        return any(self.axes[number].apart & away for number in away)

    def moved(self, point: Point, number: int, option: int) -> Point | None:
        """The point with one axis at another option, and as the file is what that shuts; None if barred."""
        axis = self.axes[number]
        if any(point[other] not in options for other, options in axis.when.items()):
            return None
        at = list(point)
        at[number] = option
        if option != axis.standing:
            for other in axis.apart:
                at[other] = self.axes[other].standing
        moved = self.closed_where_shut(tuple(at))
        return moved if moved[number] == option and not self._clashes(moved) else None

    def neighbours(self, point: Point) -> list[Point]:
        """Points one step away: one option on along an ordered axis, any other of one without order."""
        reached: dict[Point, None] = {}
        for number in range(len(self.axes)):
            for option in self.steps(point, number):
                moved = self.moved(point, number, option)
                if moved is not None and moved != point:
                    reached[moved] = None
        return list(reached)

    def steps(self, point: Point, number: int) -> list[int]:
        """Options of an axis that are one step from that of a point."""
        axis, at = self.axes[number], point[number]
        options = (at - 1, at + 1) if axis.in_order else range(axis.size)
        return [option for option in options if 0 <= option < axis.size and option != at]

    def distance(self, a: Point, b: Point) -> int:
        """Steps from one to the other, conditions aside."""
        return int(self.distances(a, np.array([b]))[0])

    def distances(self, a: Point, others: Ints) -> Ints:
        """Steps from a point to each of (n, axes) others, (n,)."""
        apart = np.abs(others - np.array(a))
        steps: Ints = np.where(self._in_order, apart, apart > 0).sum(axis=1)
        return steps

    @cached_property
    def _in_order(self) -> Flags:
        return np.array([axis.in_order for axis in self.axes])

    def anywhere(self, rng: np.random.Generator) -> Point:
        """A point at random: an option of every axis, one axis after the other in random order."""
        at = self.standing
        for number in rng.permutation(len(self.axes)):
            moved = self.moved(at, int(number), int(rng.integers(self.axes[number].size)))
            at = at if moved is None else moved
        return at

    def promising(
        self, best: Point, visited: Sequence[Point], *, wanted: int, rng: np.random.Generator
    ) -> list[Point]:
        """New points at random that lie nearer to the best than to any other point visited.

        Notes
        -----
        A walk along random axes that stays in the most promising region, uniform over options of the axis.
        Sources: Hong & Nelson (2006), Discrete optimization via simulation using COMPASS, Operations
        Research 54: 115-129; Hong, Nelson & Xu (2010), Speeding up COMPASS for high-dimensional discrete
        optimization via simulation, Operations Research Letters 38: 550-555 (both from memory).
        """
        taken, new, at = set(visited), dict[Point, None](), best
        others = np.array([point for point in visited if point != best]).reshape(-1, len(self.axes))
        for _ in range(WALK * wanted * len(self.axes)):
            number = int(rng.integers(len(self.axes)))
            moved = self.moved(at, number, int(rng.integers(self.axes[number].size)))
            if moved is None or np.any(self.distances(moved, others) < self.distance(moved, best)):
                continue
            at = moved
            if at not in taken:
                new[at] = None
                if len(new) == wanted:
                    break
        return list(new)
