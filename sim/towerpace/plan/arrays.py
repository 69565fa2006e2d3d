"""The arrays of a compiled plan, and what follows from them alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, pairwise

import numpy as np

from towerpace.plan.parts import PoolKind, Tags, Window
from towerpace.units import Flags, Ints

NONE = -1


@dataclass(frozen=True)
class Ragged:
    """Lists of different length in one array: list i is values[start[i]:start[i + 1]]."""

    start: Ints
    values: Ints

    def __getitem__(self, i: int) -> Ints:
        return self.values[self.start[i] : self.start[i + 1]]

    @cached_property
    def owners(self) -> Ints:
        """Number of the list that each of `values` stands in."""
        return np.repeat(np.arange(len(self.start) - 1), np.diff(self.start))

    @cached_property
    def lists(self) -> list[list[int]]:
        """All lists, as Python lists."""
        flat, start = self.values.tolist(), self.start.tolist()
        return [flat[a:b] for a, b in pairwise(start)]

    def of(self, which: Ints) -> Ints:
        """The lists of several owners, one behind the other."""
        counts = self.start[which + 1] - self.start[which]
        offsets = np.repeat(self.start[which] - np.concatenate(([0], np.cumsum(counts)[:-1])), counts)
        return self.values[np.arange(counts.sum()) + offsets]

    def __getstate__(self) -> dict[str, Ints]:
        return {"start": self.start, "values": self.values}


def ragged(lists: Sequence[Sequence[int]]) -> Ragged:
    """Pack lists of integers."""
    start = np.zeros(len(lists) + 1, dtype=np.int64)
    np.cumsum(np.fromiter(map(len, lists), dtype=np.int64, count=len(lists)), out=start[1:])
    return Ragged(start, np.fromiter(chain.from_iterable(lists), dtype=np.int64, count=int(start[-1])))


def transposed(lists: Ragged) -> Ragged:
    """Who names each owner: list j holds every i whose list holds j, in ascending order."""
    n = len(lists.start) - 1
    by_value = np.argsort(lists.values, kind="stable")
    start = np.zeros(n + 1, dtype=np.int64)
    np.cumsum(np.bincount(lists.values, minlength=n), out=start[1:])
    return Ragged(start, lists.owners[by_value])


@dataclass(frozen=True)
class PlanPools:
    """Pools of a plan, by number.

    units : (n_pools,) at minute 0. first_come : (n_pools,) bool. line : (n_pools,) line number or -1.
    at : for each pool the places of its units, empty if not positioned.
    moves : for each pool the minutes from place to place, (n_places, n_places), or None.
    kinds : what each pool stands for.
    """

    names: tuple[str, ...]
    units: Ints
    first_come: Flags
    line: Ints
    lines: tuple[str, ...]
    at: tuple[tuple[int, ...], ...]
    moves: tuple[Ints | None, ...]
    kinds: tuple[PoolKind, ...]


class PlanArrays:
    """A compiled plan as flat arrays over its n steps; windows, pools, flags and places by number.

    work, expected, date, rank : (n,) [min]. window, mode, flag, place : (n,), -1 for none.
    optional, planned : (n,) bool.
    before, after : steps. needs, quantities : pools of each step, and how many units of each.
    give_pool, give_quantity, give_taker : what each step gives at its end; taker -1 for arrivals.
    tag_of, tag_table : what each step belongs to but for its panel, equal tags said once.
    """

    horizon: int
    windows: tuple[Window, ...]
    pools: PlanPools
    names: Sequence[str]
    work: Ints
    expected: Ints
    date: Ints
    rank: Ints
    window: Ints
    mode: Ints
    flag: Ints
    place: Ints
    panel: Ints
    optional: Flags
    planned: Flags
    before: Ragged
    after: Ragged
    needs: Ragged
    quantities: Ragged
    give_pool: Ragged
    give_quantity: Ragged
    give_taker: Ragged
    places: tuple[object, ...]
    flags: Sequence[str]
    tag_of: Ints
    tag_table: tuple[Tags, ...]

    @property
    def n(self) -> int:
        """Number of compiled steps."""
        return len(self.work)

    def tags(self, i: int) -> Tags:
        """What step i belongs to, but for its panel, which stands in `panel`."""
        return self.tag_table[int(self.tag_of[i])]

    def by_tags(self, number: Callable[[Tags], int]) -> Ints:
        """A number for every step that follows from its tags alone, (n,)."""
        return np.array([number(tags) for tags in self.tag_table], dtype=np.int64)[self.tag_of]

    @property
    def tags_used(self) -> list[Tags]:
        """Tags in the order in which the steps bear them first."""
        used, first_use = np.unique(self.tag_of, return_index=True)
        return [self.tag_table[k] for k in used[np.argsort(first_use)].tolist()]

    @cached_property
    def index(self) -> Mapping[str, int]:
        """Number of each compiled step by its name."""
        return {name: i for i, name in enumerate(self.names)}

    @cached_property
    def layers(self) -> list[Ints]:
        """Steps in layers, each behind its predecessors; what lies in or behind a cycle is in none."""
        after, missing = self.after.lists, np.diff(self.before.start).tolist()
        layer = [0] * self.n
        free = [step for step, n in enumerate(missing) if not n]
        for step in free:  # it grows as steps come free
            next_layer = layer[step] + 1
            for later in after[step]:
                missing[later] -= 1
                if not missing[later]:
                    # The last predecessor to come free lies in the last layer of all: they come in order.
                    layer[later] = next_layer
                    free.append(later)
        steps = np.array(free, dtype=np.int64)
        numbers = np.array(layer, dtype=np.int64)[steps]
        ascending = steps[np.lexsort((steps, numbers))]
        return np.split(ascending, np.cumsum(np.bincount(numbers))[:-1]) if free else []

    @cached_property
    def order(self) -> Ints:
        """Steps so that predecessors come first, (n,); shorter than n where there is a cycle."""
        return np.concatenate([*self.layers, np.zeros(0, dtype=np.int64)])

    @cached_property
    def line(self) -> Ints:
        """Number of the line that each step stands in, (n,), or -1."""
        line = np.full(self.n, NONE, dtype=np.int64)
        np.maximum.at(line, self.needs.owners, self.pools.line[self.needs.values])
        return line

    @cached_property
    def first_come(self) -> Flags:
        """Whether the pools of each step are served first come, (n,)."""
        first_come = np.zeros(self.n, dtype=np.bool_)
        np.logical_or.at(first_come, self.needs.owners, self.pools.first_come[self.needs.values])
        return first_come
