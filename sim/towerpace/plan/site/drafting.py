"""The plan while it is being written: steps and pools, and the recipes of their numbers.

A step is written without its minutes and its date. They follow from recipes, each of which serves many steps:
a recipe gives one number for all of them, or one for each place (mostly a front).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.chance import MINUTES, Law
from towerpace.plan.columns import NOTHING, Handed, StepColumns, Units, Words, resolved
from towerpace.plan.lists import ALWAYS
from towerpace.plan.model import Plan
from towerpace.plan.parts import Place, PlanError, Pool, Tags, Window
from towerpace.plan.site.closures import Closures
from towerpace.plan.site.fronts import Front, StepKey
from towerpace.plan.site.numbers import Numbers, Recipe, SpreadOf, one, zero
from towerpace.plan.site.reading import Reading, Seen
from towerpace.scenario.complaints import Path, dotted
from towerpace.scenario.schema import Settings
from towerpace.scenario.size_rules import MOST_STEPS
from towerpace.units import Floats, Ints

LawRecipe = Callable[[Numbers], Law]
Of = TypeVar("Of")


@dataclass(frozen=True, eq=False, slots=True)
class Uncertain:
    """A share of some minutes that chance decides: where its spread stands, and what it is drawn under."""

    spread: SpreadOf
    purpose: str
    source: str = MINUTES


@dataclass(frozen=True, eq=False, slots=True)
class DrawnMinutes:
    """Recipe of minutes that chance decides: factor x pace x (fixed + the weighted sum of the terms).

    factor, fixed : one number, or one for each place. [-] [min]
    pace : trade whose pace stretches them. weights : (n_places, n_terms), how often each term counts, or a
    recipe of them.
    planned_factor : on the expected minutes only, for what a law of its own draws. [-]
    """

    terms: tuple[Uncertain, ...] = ()
    factor: Recipe = one
    fixed: Recipe = zero
    pace: str | None = None
    weights: Floats | Recipe | None = None
    planned_factor: Recipe | None = None


class TooManyStepsError(PlanError):
    """A key makes more steps than a plan may have. path : of the key. steps : that it makes, in words."""

    def __init__(self, path: Path, steps: str) -> None:
        self.path, self.steps = path, steps
        super().__init__([f"{dotted(path)} makes {steps}; a plan has at most {MOST_STEPS:,}"])

    def __reduce__(self) -> tuple[Any, tuple[Any, ...]]:
        return TooManyStepsError, (self.path, self.steps)


@dataclass
class Served:
    """Steps that follow the same recipe, where each finds its number, and its place in the streams."""

    owner: str = ""
    steps: list[int] = field(default_factory=list)
    places: list[int] = field(default_factory=list)
    items: list[int] = field(default_factory=list)


@dataclass
class Draft:
    """Steps and pools collected so far, and laws of chance beside the durations.

    A step is its number. What is not written yet is waited for by its `StepKey`.

    written : the steps. ends : numbers of the steps that have a key.
    panels : for each panel the step that sets it, and those of which one sets it instead if it was lost.
    owner : trade whose items are drawn from streams of their own; empty where purposes need no owner.
    """

    reading: Reading[Numbers]
    closures: Closures
    written: StepColumns = field(default_factory=StepColumns)
    ends: dict[StepKey, int] = field(default_factory=dict)
    pools: list[Pool] = field(default_factory=list)
    units_of: list[Recipe] = field(default_factory=list)
    minutes: dict[tuple[DrawnMinutes, str], Served] = field(default_factory=dict)
    work: dict[Recipe, Served] = field(default_factory=dict)
    date: dict[Recipe, Served] = field(default_factory=dict)
    laws: list[LawRecipe] = field(default_factory=list)
    panels: list[tuple[int, tuple[int, ...]]] = field(default_factory=list)
    owner: str = ""
    _pool_number: dict[str, int] = field(default_factory=dict)
    _tags: dict[tuple[str, int | None, str, str], int] = field(default_factory=dict)

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
        self._pool_number[pool.name] = len(self.pools)
        self.pools.append(pool)
        self.units_of.append((lambda _: pool.units) if units is None else units)

    def units(self, quantities: Mapping[str, int]) -> Units:
        """Units of pools, by number, in the order in which they are asked for."""
        return Units(tuple(self._pool_number[name] for name in quantities), tuple(quantities.values()))

    def flag(self, name: Words) -> int:
        """A flag under which a draw leaves steps out. name : what people call it."""
        self.written.flags.append(name)
        return len(self.written.flags) - 1

    def tags(
        self, trade: str = "", front: Front | None = None, *, level: int | None = None, kind: str = "work"
    ) -> int:
        """What a step belongs to, by number. level : of what has no front."""
        key = (trade, level, "", kind) if front is None else (trade, front.level, front.zone, kind)
        number = self._tags.get(key)
        if number is None:
            said = Tags(trade=trade, level=key[1], zone=key[2], kind=kind)
            number = self._tags[key] = self.written.tag_number(said)
        return number

    def make_room(self, steps: int, *path: str) -> None:
        """Refuse a key that makes more steps than a plan may have, before they are written.

        Raises `TooManyStepsError`.
        """
        if self.next_step + steps > MOST_STEPS:
            raise TooManyStepsError(path, f"{steps:,} steps or more")

    @property
    def next_step(self) -> int:
        """Number of the step that is written next."""
        return len(self.written.names)

    def add(
        self,
        name: Words,
        *,
        tags: int,
        key: StepKey | None = None,
        after: Sequence[int | StepKey] = (),
        needs: Units = NOTHING,
        keeps: Collection[int] = (),
        gives: Sequence[Handed] = (),
        window: int = NONE,
        mode: int = ALWAYS,
        rank: int = 0,
        stands: Place | None = None,
        flag: int = NONE,
        planned: bool = True,
        optional: bool = False,
        panel: int = NONE,
        minutes: DrawnMinutes | None = None,
        item: int = 0,
        work: Recipe | None = None,
        date: Recipe | None = None,
        place: int = 0,
    ) -> int:
        """Put a step into the plan; its number. Words as in `Step`, what they refer to by number.

        key : under which others wait for it. stands : where it stands, for positioned pools.
        minutes : how they are drawn, with the item of the streams. work : minutes that are certain, or that a
        law of its own draws. place : where the recipes say the step's number, if they say many.
        """
        written, number = self.written, len(self.written.names)
        written.names.append(name)
        written.tag.append(tags)
        written.before.append(after)
        written.window.append(window)
        written.mode.append(mode)
        written.rank.append(rank)
        written.place.append(written.place_number(stands))
        written.flag.append(flag)
        written.planned.append(planned)
        written.optional.append(optional)
        written.panel.append(panel)
        written.take(needs, keeps=keeps, gives=gives)
        if key is not None:
            self.ends[key] = number
        if minutes is not None:
            column = self._column(self.minutes, (minutes, self.owner))
            column.items.append(item)
            _put(column, number, place)
        if work is not None:
            _put(self._column(self.work, work), number, place)
        if date is not None:
            _put(self._column(self.date, date), number, place)
        return number

    def numbers_of(self, steps: Iterable[int | StepKey]) -> Ints:
        """Steps by number, (k,)."""
        return np.array(
            [self.ends[step] if isinstance(step, StepKey) else step for step in steps], dtype=np.int64
        )

    def plan(self) -> Plan:
        """The plan of all steps, without their minutes and dates.

        Raises `PlanError` for steps that could never be done.
        """
        written = self.written
        written.work = written.expected = written.date = [0] * len(written)
        try:
            before = resolved(written.before, self.ends.__getitem__)
        except KeyError as error:
            key: StepKey = error.args[0]
            said = f"{key.kind} of {key.of}" if key.of else key.kind
            raise PlanError([f"others wait for '{said}', which is never done"]) from None
        windows = [Window(key, ()) for key in self.closures.keys]
        return Plan.of_columns(written, before, pools=self.pools, windows=windows)

    @staticmethod
    def _column(columns: dict[Of, Served], key: Of) -> Served:
        column = columns.get(key)
        if column is None:
            column = columns[key] = Served()
        return column


def _put(column: Served, step: int, place: int) -> None:
    column.steps.append(step)
    column.places.append(place)
