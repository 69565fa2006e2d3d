"""The plan while it is being written: steps and pools, and the recipes of their numbers.

A step is written without its minutes and its date. They follow from recipes, each of which serves many steps:
a recipe gives one number for all of them, or one for each place (mostly a front).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import TypeVar

import numpy as np

from towerpace.plan.chance import MINUTES, Law
from towerpace.plan.parts import Pool, Step
from towerpace.plan.site.closures import Closures
from towerpace.plan.site.numbers import Numbers, Recipe, SpreadOf, one, zero
from towerpace.plan.site.reading import Reading, Seen
from towerpace.scenario.schema import Settings
from towerpace.units import Floats, Ints

LawRecipe = Callable[[Numbers], Law]
Key = TypeVar("Key")


@dataclass(frozen=True, eq=False, slots=True)
class Uncertain:
    """A share of some minutes that chance decides: where its spread stands, and what it is drawn under."""

    spread: SpreadOf
    purpose: str
    source: str = MINUTES


@dataclass(frozen=True, eq=False, slots=True)
class Minutes:
    """Recipe of minutes that chance decides: factor x pace x (fixed + the weighted sum of the terms).

    factor, fixed : one number, or one for each place. [-] [min]
    pace : trade whose pace stretches them. weights : (n_places, n_terms), how often each term counts.
    planned_factor : on the expected minutes only, for what a law of its own draws. [-]
    """

    terms: tuple[Uncertain, ...] = ()
    factor: Recipe = one
    fixed: Recipe = zero
    pace: str | None = None
    weights: Floats | None = None
    planned_factor: Recipe | None = None


@dataclass
class Column:
    """Steps that follow the same recipe, where each finds its number, and its place in the streams."""

    owner: str = ""
    steps: list[int] = field(default_factory=list)
    places: list[int] = field(default_factory=list)
    items: list[int] = field(default_factory=list)


@dataclass
class Draft:
    """Steps and pools collected so far, and laws of chance beside the durations.

    panels : for each panel the step that sets it, and the step that sets it instead if it was lost, if any.
    owner : trade whose items are drawn from streams of their own; empty where purposes need no owner.
    """

    reading: Reading[Numbers]
    closures: Closures
    steps: list[Step] = field(default_factory=list)
    index: dict[str, int] = field(default_factory=dict)
    pools: list[Pool] = field(default_factory=list)
    units: list[Recipe] = field(default_factory=list)
    minutes: dict[tuple[Minutes, str], Column] = field(default_factory=dict)
    work: dict[Recipe, Column] = field(default_factory=dict)
    date: dict[Recipe, Column] = field(default_factory=dict)
    laws: list[LawRecipe] = field(default_factory=list)
    panels: list[tuple[str, str | None]] = field(default_factory=list)
    owner: str = ""

    @property
    def settings(self) -> Settings:
        """The scenario; what is read of it decides which steps there are."""
        return self.reading.settings

    def ask(self, question: Callable[[Numbers], Seen]) -> Seen:
        """What decides about steps without being read itself: whether a number is there, or above 0."""
        return self.reading.ask(question)

    def owned_by(self, trade: str) -> Draft:
        """The same draft, written by a trade whose items are drawn from streams of their own."""
        return replace(self, owner=trade)  # The lists are the same ones: what either writes is in both.

    def pool(self, pool: Pool, *, units: Recipe | None = None) -> None:
        """Put a pool into the plan. units : how many there are, where that is no matter of the steps."""
        self.pools.append(pool)
        self.units.append((lambda _: pool.units) if units is None else units)

    def add(
        self,
        step: Step,
        *,
        minutes: Minutes | None = None,
        item: int = 0,
        work: Recipe | None = None,
        date: Recipe | None = None,
        place: int = 0,
    ) -> str:
        """Put a step into the plan; its name.

        minutes : how they are drawn, with the item of the streams. work : minutes that are certain, or that a
        law of its own draws. place : where the recipes say the step's number, if they say many.
        """
        number = len(self.steps)
        self.steps.append(step)
        self.index[step.name] = number
        if minutes is not None:
            column = self._column(self.minutes, (minutes, self.owner))
            column.items.append(item)
            _put(column, number, place)
        if work is not None:
            _put(self._column(self.work, work), number, place)
        if date is not None:
            _put(self._column(self.date, date), number, place)
        return step.name

    def numbers_of(self, names: Iterable[str]) -> Ints:
        """Step numbers of names written so far, (k,)."""
        return np.array([self.index[name] for name in names], dtype=np.int64)

    @staticmethod
    def _column(columns: dict[Key, Column], key: Key) -> Column:
        column = columns.get(key)
        if column is None:
            column = columns[key] = Column()
        return column


def _put(column: Column, step: int, place: int) -> None:
    column.steps.append(step)
    column.places.append(place)
