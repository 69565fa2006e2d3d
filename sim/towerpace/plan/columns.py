"""Steps by number, one list for each word: what a plan is compiled from.

Whoever writes steps in the order of their numbers puts them here; the public `Step` is put here as well. What
a step refers to (predecessors, pools, a window, a place, a flag) is a number. Names are for people: they are
kept as the words they are made of, and made when somebody asks for them.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple, overload

import numpy as np

from towerpace.plan.arrays import NONE, Ragged, ragged
from towerpace.plan.parts import Place, Tags
from towerpace.units import Ints

Words = str | int | tuple["Words", ...]
"""A name, or the words that make it when they stand one behind the other."""


def said(words: Words) -> str:
    """The words as a name.

    >>> said((("panels", " ", "L3 north"), ": panel ", 5))
    'panels L3 north: panel 5'
    """
    return "".join(map(said, words)) if isinstance(words, tuple) else str(words)


class Names(Sequence[str]):
    """Names that are made when the first of them is asked for."""

    def __init__(self, words: Sequence[Words]) -> None:
        self._words = words
        self._made: tuple[str, ...] | None = None

    @property
    def made(self) -> tuple[str, ...]:
        """All names."""
        if self._made is None:
            self._made = tuple(map(said, self._words))
        return self._made

    @overload
    def __getitem__(self, i: int) -> str: ...
    @overload
    def __getitem__(self, i: slice) -> Sequence[str]: ...
    def __getitem__(self, i: int | slice) -> str | Sequence[str]:
        return self.made[i]

    def __len__(self) -> int:
        return len(self._words)

    def __eq__(self, other: object) -> bool:
        return self.made == (other.made if isinstance(other, Names) else other)

    def __hash__(self) -> int:
        return hash(self.made)

    def __reduce__(self) -> tuple[Callable[..., Any], tuple[tuple[str, ...]]]:
        return _as_they_are, (self.made,)


def _as_they_are(names: tuple[str, ...]) -> tuple[str, ...]:
    return names


class Units(NamedTuple):
    """Units of some pools, by number."""

    pools: tuple[int, ...] = ()
    quantities: tuple[int, ...] = ()


class Handed(NamedTuple):
    """Units that a step gives at its end, and the step that took them; -1 for units that arrive."""

    units: Units
    taker: int


NOTHING = Units()


@dataclass
class StepColumns:
    """Steps in the order of their numbers; words as in `Step`, everything by number, -1 for none.

    before : lists of predecessors, or of whatever stands for them until all steps are written.
    panel : number of the panel that it is about. gives_end : how many gives there are up to each step.
    """

    names: list[Words] = field(default_factory=list)
    work: list[int] = field(default_factory=list)
    expected: list[int] = field(default_factory=list)
    date: list[int] = field(default_factory=list)
    rank: list[int] = field(default_factory=list)
    window: list[int] = field(default_factory=list)
    mode: list[int] = field(default_factory=list)
    flag: list[int] = field(default_factory=list)
    place: list[int] = field(default_factory=list)
    panel: list[int] = field(default_factory=list)
    optional: list[bool] = field(default_factory=list)
    planned: list[bool] = field(default_factory=list)
    tag: list[int] = field(default_factory=list)
    before: list[Sequence[Any]] = field(default_factory=list)
    needs: list[tuple[int, ...]] = field(default_factory=list)
    quantities: list[tuple[int, ...]] = field(default_factory=list)
    give_pool: list[int] = field(default_factory=list)
    give_quantity: list[int] = field(default_factory=list)
    give_taker: list[int] = field(default_factory=list)
    gives_end: list[int] = field(default_factory=lambda: [0])
    tag_table: list[Tags] = field(default_factory=list)
    flags: list[Words] = field(default_factory=list)
    places: dict[Place | None, int] = field(default_factory=lambda: {None: NONE})
    _tag_of: dict[Tags, int] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.names)

    def tag_number(self, tags: Tags) -> int:
        """Number of some tags; equal ones have the same."""
        number = self._tag_of.get(tags)
        if number is None:
            number = self._tag_of[tags] = len(self.tag_table)
            self.tag_table.append(tags)
        return number

    def place_number(self, place: Place | None) -> int:
        """Number of a place, a new one for a place not met before; -1 for none."""
        return self.places.setdefault(place, len(self.places) - 1)

    def take(self, needs: Units, *, keeps: Collection[int], gives: Sequence[Handed]) -> None:
        """What the step that is being written takes, and what it gives at its end: what it does not keep.

        keeps : pools of `needs`.
        """
        pools, quantities = needs
        self.needs.append(pools)
        self.quantities.append(quantities)
        if pools and keeps is not pools:
            own = [k for k, pool in enumerate(pools) if pool not in keeps]
            self.give_pool += [pools[k] for k in own]
            self.give_quantity += [quantities[k] for k in own]
            self.give_taker += [len(self.needs) - 1] * len(own)
        for units, taker in gives:
            self.give_pool += units.pools
            self.give_quantity += units.quantities
            self.give_taker += [taker] * len(units.pools)
        self.gives_end.append(len(self.give_pool))

    def gives(self, values: list[int]) -> Ragged:
        """One word of what each step gives."""
        return Ragged(ints(self.gives_end), ints(values))


def ints(values: Sequence[int]) -> Ints:
    """Whole numbers as an array."""
    return np.array(values, dtype=np.int64)


def resolved(before: Sequence[Sequence[Any]], numbers: Callable[[Any], int]) -> Ragged:
    """Predecessors of every step, each once, in the order in which they were said.

    numbers : number of the step that something stands for that is no number.
    """
    lists = ragged([[x if type(x) is int else numbers(x) for x in named] for named in before])
    keys = lists.owners * max(len(before), 1) + lists.values
    order = np.argsort(keys, kind="stable")
    again = np.zeros(len(keys), dtype=np.bool_)
    again[order[1:]] = keys[order[1:]] == keys[order[:-1]]
    if not again.any():
        return lists
    counts = np.bincount(lists.owners[~again], minlength=len(before))
    return Ragged(np.concatenate(([0], np.cumsum(counts))), lists.values[~again])
