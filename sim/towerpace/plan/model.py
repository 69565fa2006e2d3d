"""The compiled plan: steps and pools as flat arrays, checked, with a networkx view to look at."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from towerpace.plan.checks import check_compiled, check_parts
from towerpace.plan.expand import expand
from towerpace.plan.lists import PlanLists
from towerpace.plan.parts import MODES, Moves, Pool, Step, Tags, Window

if TYPE_CHECKING:
    import networkx as nx

Ints = NDArray[np.int64]
NONE = -1
DEFAULT_HORIZON_MIN = 2**31 - 2
MADE_AGAIN = ("order", "line", "first_come", "lists")


@dataclass(frozen=True)
class Ragged:
    """Lists of different length in one array: list i is values[start[i]:start[i + 1]]."""

    start: Ints
    values: Ints

    def __getitem__(self, i: int) -> Ints:
        return self.values[self.start[i] : self.start[i + 1]]

    @property
    def owners(self) -> Ints:
        """Number of the list that each of `values` stands in."""
        return np.repeat(np.arange(len(self.start) - 1), np.diff(self.start))

    def tolist(self) -> list[list[int]]:
        """All lists, as Python lists."""
        flat, start = self.values.tolist(), self.start.tolist()
        return [flat[a:b] for a, b in pairwise(start)]


def ragged(lists: Sequence[Sequence[int]]) -> Ragged:
    """Pack lists of integers."""
    start = np.zeros(len(lists) + 1, dtype=np.int64)
    np.cumsum([len(x) for x in lists], out=start[1:])
    return Ragged(start, np.array([v for x in lists for v in x], dtype=np.int64))


@dataclass(frozen=True)
class Pools:
    """Pools of a plan, by number.

    units : (n_pools,) at minute 0. first_come : (n_pools,) bool. line : (n_pools,) line number or -1.
    at : for each pool the places of its units, empty if not positioned.
    moves : for each pool the minutes from place to place, (n_places, n_places), or None.
    """

    names: tuple[str, ...]
    units: Ints
    first_come: NDArray[np.bool_]
    line: Ints
    lines: tuple[str, ...]
    at: tuple[tuple[int, ...], ...]
    moves: tuple[Ints | None, ...]


class Plan:
    """Steps, pools and windows, compiled to arrays.

    Steps are numbered in the order given; a step with SS, SF or FF lags becomes up to three, numbered
    together, and lags that only let time pass come last. Raises `PlanError` naming every fault.

    Examples
    --------
    >>> from towerpace import Plan, Pool, Step, run
    >>> plan = Plan(
    ...     [Step("set", work=30, needs={"crane": 1}), Step("seal", work=20, after=["set"])],
    ...     pools=[Pool("crane", 1)],
    ... )
    >>> run(plan).finish
    50
    """

    def __init__(
        self,
        steps: Sequence[Step],
        *,
        pools: Sequence[Pool] = (),
        windows: Sequence[Window] = (),
        horizon: int = DEFAULT_HORIZON_MIN,
    ) -> None:
        check_parts(steps, pools=pools, windows=windows, horizon=horizon)
        expansion = expand(steps)
        self.steps = expansion.steps
        self.horizon = int(horizon)
        self.windows = tuple(windows)
        self.names = tuple(s.name for s in self.steps)
        self.index = {name: i for i, name in enumerate(self.names)}
        self._first = expansion.first
        self._last = expansion.last
        self._number_steps()
        self._number_pools(pools)
        self._link(expansion.first)
        self.warnings: tuple[str, ...] = check_compiled(self)

    def _number_steps(self) -> None:
        window = {w.name: k for k, w in enumerate(self.windows)}
        flags = dict.fromkeys(s.skip for s in self.steps if s.skip is not None)
        self.flags = tuple(flags)
        flag = {name: k for k, name in enumerate(self.flags)}
        self.work = self._ints(s.work for s in self.steps)
        self.expected = self._ints(s.work if s.expected is None else s.expected for s in self.steps)
        self.date = self._ints(s.date for s in self.steps)
        self.rank = self._ints(s.rank for s in self.steps)
        self.window = self._ints(NONE if s.window is None else window[s.window] for s in self.steps)
        self.mode = self._ints(MODES.index(s.mode) for s in self.steps)
        self.flag = self._ints(NONE if s.skip is None else flag[s.skip] for s in self.steps)
        self.optional = np.array([s.optional for s in self.steps], dtype=np.bool_)
        self.planned = np.array([s.planned for s in self.steps], dtype=np.bool_)

    @staticmethod
    def _ints(values: Iterable[int]) -> Ints:
        return np.array(list(values), dtype=np.int64)

    def _number_pools(self, pools: Sequence[Pool]) -> None:
        number = {p.name: k for k, p in enumerate(pools)}
        lines = tuple(dict.fromkeys(p.line for p in pools if p.line is not None))
        seen = [s.place for s in self.steps] + [place for p in pools for place in p.at or ()]
        self.places = tuple(dict.fromkeys(place for place in seen if place is not None))
        place = {name: k for k, name in enumerate(self.places)}
        self.place = self._ints(NONE if s.place is None else place[s.place] for s in self.steps)
        self.pools = Pools(
            names=tuple(number),
            units=self._ints(p.units for p in pools),
            first_come=np.array([p.order == "first come" for p in pools], dtype=np.bool_),
            line=self._ints(NONE if p.line is None else lines.index(p.line) for p in pools),
            lines=lines,
            at=tuple(tuple(place[a] for a in p.at or ()) for p in pools),
            moves=self._moves_of(pools),
        )
        self.needs = ragged([[number[q] for q in s.needs] for s in self.steps])
        self.quantities = ragged([list(s.needs.values()) for s in self.steps])

    def _moves_of(self, pools: Sequence[Pool]) -> tuple[Ints | None, ...]:
        """Of pools that share one law of moves the table is made once."""
        made = {id(p.moves): self._moves(p.moves) for p in pools if p.at is not None}
        return tuple(None if p.at is None else made[id(p.moves)] for p in pools)

    def _moves(self, moves: Moves | None) -> Ints:
        if moves is None:
            return np.zeros((len(self.places), len(self.places)), dtype=np.int64)
        lookup = (lambda a, b: 0 if a == b else moves[a, b]) if isinstance(moves, Mapping) else moves
        rows = [[int(lookup(a, b)) for b in self.places] for a in self.places]
        return np.array(rows, dtype=np.int64).reshape(len(self.places), len(self.places))

    def _link(self, first: Mapping[str, str]) -> None:
        number = {name: k for k, name in enumerate(self.pools.names)}
        before = [[self.index[p] for p in s.after if isinstance(p, str)] for s in self.steps]
        after: list[list[int]] = [[] for _ in self.steps]
        for j, sources in enumerate(before):
            for i in sources:
                after[i].append(j)
        self.before = ragged(before)
        self.after = ragged(after)
        gives: list[list[tuple[int, int, int]]] = []
        for i, s in enumerate(self.steps):
            own = [(number[q], n, i) for q, n in s.needs.items() if q not in s.keeps]
            others = [
                (g, NONE if g.taker is None else self.index[first.get(g.taker, g.taker)]) for g in s.gives
            ]
            gives.append(own + [(number[g.pool], g.quantity, taker) for g, taker in others])
        self.give_pool = ragged([[g[0] for g in x] for x in gives])
        self.give_quantity = ragged([[g[1] for g in x] for x in gives])
        self.give_taker = ragged([[g[2] for g in x] for x in gives])

    @property
    def n(self) -> int:
        """Number of compiled steps."""
        return len(self.steps)

    def tags(self, i: int) -> Tags:
        """What step i belongs to."""
        return self.steps[i].tags

    def first_of(self, name: str) -> int:
        """Number of the compiled step that starts the user's step."""
        return self.index[self._first[name]]

    def last_of(self, name: str) -> int:
        """Number of the compiled step that ends the user's step."""
        return self.index[self._last[name]]

    @cached_property
    def order(self) -> Ints:
        """Steps so that predecessors come first, (n,)."""
        from towerpace.plan.network import topological_order

        return topological_order(self.before, self.after)

    @cached_property
    def line(self) -> Ints:
        """Number of the line that each step stands in, (n,), or -1."""
        line = np.full(self.n, NONE, dtype=np.int64)
        np.maximum.at(line, self.needs.owners, self.pools.line[self.needs.values])
        return line

    @cached_property
    def first_come(self) -> NDArray[np.bool_]:
        """Whether the pools of each step are served first come, (n,)."""
        first_come = np.zeros(self.n, dtype=np.bool_)
        np.logical_or.at(first_come, self.needs.owners, self.pools.first_come[self.needs.values])
        return first_come

    @cached_property
    def lists(self) -> PlanLists:
        """The plan as Python lists."""
        return PlanLists(self)

    def changed(self, **arrays: object) -> Plan:
        """The same plan with some of its arrays replaced (`rank`, `pools`, `windows`, ...).

        The parts are not checked again, so the change must keep their shapes.
        """
        copy = object.__new__(Plan)
        copy.__dict__.update(self.__getstate__() | arrays)
        return copy

    def __getstate__(self) -> dict[str, object]:
        """Everything but what is made again on demand."""
        return {k: v for k, v in self.__dict__.items() if k not in MADE_AGAIN}

    def graph(self) -> nx.DiGraph[str]:
        """The plan as a networkx graph: nodes are step names with work, trade, level and zone."""
        import networkx as nx

        graph: nx.DiGraph[str] = nx.DiGraph()
        for s in self.steps:
            graph.add_node(s.name, work=s.work, trade=s.tags.trade, level=s.tags.level, zone=s.tags.zone)
        for j, s in enumerate(self.steps):
            graph.add_edges_from((self.names[i], s.name) for i in self.before[j].tolist())
        return graph
