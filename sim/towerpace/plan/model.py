"""The compiled plan: steps and pools as flat arrays, checked, with a networkx view to look at."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from towerpace.plan.arrays import NONE, PlanArrays, PoolArrays, Ragged, ragged, transposed
from towerpace.plan.checks import check_compiled, check_numbers, check_parts
from towerpace.plan.expand import expand
from towerpace.plan.holds import Holds
from towerpace.plan.lists import PlanLists
from towerpace.plan.parts import MODES, Moves, MoveTable, Place, Pool, Step, Window
from towerpace.units import Ints

if TYPE_CHECKING:
    import networkx as nx

__all__ = ["DEFAULT_HORIZON_MIN", "NONE", "Plan", "Ragged"]

DEFAULT_HORIZON_MIN = 2**31 - 2
MADE_AGAIN = ("index", "layers", "order", "line", "first_come", "lists", "warnings")
KEPT_BY_A_CHANGE = ("index", "layers", "order", "line", "first_come")
SHAPES = ("before", "after", "needs", "names")


class Plan(PlanArrays):
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
        self.horizon = int(horizon)
        self.windows = tuple(windows)
        self.names = tuple(s.name for s in expansion.steps)
        self._first, self._last = expansion.first, expansion.last
        self._number_steps(expansion.steps)
        self._number_pools(expansion.steps, pools)
        self._link(expansion.steps)
        check_compiled(self)

    def _number_steps(self, steps: Sequence[Step]) -> None:
        window = {None: NONE} | {w.name: k for k, w in enumerate(self.windows)}
        mode = {word: k for k, word in enumerate(MODES)}
        self.flags = tuple(dict.fromkeys(s.skip for s in steps if s.skip is not None))
        flag = {None: NONE} | {name: k for k, name in enumerate(self.flags)}
        tags = {tag: k for k, tag in enumerate(dict.fromkeys(s.tags for s in steps))}
        self.tag_table, self.tag_of = tuple(tags), _ints(tags[s.tags] for s in steps)
        self.work = _ints(s.work for s in steps)
        self.expected = _ints(s.work if s.expected is None else s.expected for s in steps)
        self.date = _ints(s.date for s in steps)
        self.rank = _ints(s.rank for s in steps)
        self.window = _ints(window[s.window] for s in steps)
        self.mode = _ints(mode[s.mode] for s in steps)
        self.flag = _ints(flag[s.skip] for s in steps)
        self.optional = np.array([s.optional for s in steps], dtype=np.bool_)
        self.planned = np.array([s.planned for s in steps], dtype=np.bool_)

    def _number_pools(self, steps: Sequence[Step], pools: Sequence[Pool]) -> None:
        number = {p.name: k for k, p in enumerate(pools)}
        lines = tuple(dict.fromkeys(p.line for p in pools if p.line is not None))
        seen = [s.place for s in steps] + [place for p in pools for place in p.at or ()]
        self.places = tuple(place for place in dict.fromkeys(seen) if place is not None)
        place: dict[Place | None, int] = {None: NONE} | {name: k for k, name in enumerate(self.places)}
        self.place = _ints(place[s.place] for s in steps)
        self.pools = PoolArrays(
            names=tuple(number),
            units=_ints(p.units for p in pools),
            first_come=np.array([p.order == "first come" for p in pools], dtype=np.bool_),
            line=_ints(NONE if p.line is None else lines.index(p.line) for p in pools),
            lines=lines,
            at=tuple(tuple(place[a] for a in p.at or ()) for p in pools),
            moves=_tables_of(pools, self.places),
        )
        self.needs = ragged([[number[q] for q in s.needs] for s in steps])
        self.quantities = ragged([list(s.needs.values()) for s in steps])

    def _link(self, steps: Sequence[Step]) -> None:
        number = {name: k for k, name in enumerate(self.pools.names)}
        index, first = self.index, self._first
        self.before = ragged([[index[p] for p in s.after if isinstance(p, str)] for s in steps])
        self.after = transposed(self.before)
        gives: list[list[tuple[int, int, int]]] = []
        for i, s in enumerate(steps):
            given = [(number[q], n, i) for q, n in s.needs.items() if q not in s.keeps] if s.needs else []
            for g in s.gives:
                taker = NONE if g.taker is None else index[first.get(g.taker, g.taker)]
                given.append((number[g.pool], g.quantity, taker))
            gives.append(given)
        self.give_pool = ragged([[g[0] for g in x] for x in gives])
        start = self.give_pool.start
        self.give_quantity = Ragged(start, _ints(g[1] for x in gives for g in x))
        self.give_taker = Ragged(start, _ints(g[2] for x in gives for g in x))

    def first_of(self, name: str) -> int:
        """Number of the compiled step that starts the user's step."""
        return self.index[self._first.get(name, name)]

    def last_of(self, name: str) -> int:
        """Number of the compiled step that ends the user's step."""
        return self.index[self._last.get(name, name)]

    @cached_property
    def lists(self) -> PlanLists:
        """The plan as Python lists."""
        return PlanLists(self)

    @cached_property
    def warnings(self) -> tuple[str, ...]:
        """Holds inside which a step waits for an outside step that needs the held pool."""
        return tuple(Holds(self).risky_waits())

    def changed(self, **arrays: object) -> Plan:
        """The same plan with some of its arrays replaced (`rank`, `pools`, `windows`, ...).

        The parts are not checked again, so the change must keep their shapes.
        """
        copy = object.__new__(Plan)
        kept = {k: v for k, v in self.__dict__.items() if k not in MADE_AGAIN or k in KEPT_BY_A_CHANGE}
        if not arrays.keys().isdisjoint((*SHAPES, "pools")):
            kept = self.__getstate__()
        copy.__dict__.update(kept | arrays)
        return copy

    def numbered(
        self,
        *,
        work: Ints,
        date: Ints,
        units: Ints,
        moves: Mapping[str, MoveTable],
        windows: Sequence[Window],
        horizon: int,
    ) -> Plan:
        """The same steps with other numbers; what is expected of a step is its work.

        work, date : (n,) [min]. units : (n_pools,). moves : of pools with places.

        Raises `PlanError` for numbers under which the plan could never run.
        """
        tables = {id(law): law.table(self.places) for law in moves.values()}
        own = [tables[id(moves[name])] if name in moves else None for name in self.pools.names]
        plan = self.changed(work=work, expected=work, date=date, windows=tuple(windows), horizon=int(horizon))
        plan.pools = replace(self.pools, units=units, moves=tuple(own))
        check_numbers(plan)
        return plan

    def __getstate__(self) -> dict[str, object]:
        """Everything but what is made again on demand."""
        return {k: v for k, v in self.__dict__.items() if k not in MADE_AGAIN}

    def graph(self) -> nx.DiGraph[str]:
        """The plan as a networkx graph: nodes are step names with work, trade, level and zone."""
        import networkx as nx

        graph: nx.DiGraph[str] = nx.DiGraph()
        for i, name in enumerate(self.names):
            tags = self.tags(i)
            graph.add_node(name, work=int(self.work[i]), trade=tags.trade, level=tags.level, zone=tags.zone)
        for j, name in enumerate(self.names):
            graph.add_edges_from((self.names[i], name) for i in self.before[j].tolist())
        return graph


def _ints(values: Iterable[int]) -> Ints:
    return np.array(list(values), dtype=np.int64)


def _tables_of(pools: Sequence[Pool], places: Sequence[Place]) -> tuple[Ints | None, ...]:
    """Minutes from place to place; of pools that share one law of moves the table is made once."""
    tables = {id(p.moves): _table(p.moves, places) for p in pools if p.at is not None}
    return tuple(None if p.at is None else tables[id(p.moves)] for p in pools)


def _table(moves: Moves | None, places: Sequence[Place]) -> Ints:
    if moves is None:
        return np.zeros((len(places), len(places)), dtype=np.int64)
    if isinstance(moves, MoveTable):
        return moves.table(places)
    lookup = (lambda a, b: 0 if a == b else moves[a, b]) if isinstance(moves, Mapping) else moves
    rows = [[int(lookup(a, b)) for b in places] for a in places]
    return np.array(rows, dtype=np.int64).reshape(len(places), len(places))
