"""The compiled plan: steps and pools as flat arrays, checked, with a networkx view to look at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from towerpace.plan.arrays import NONE, PlanArrays, PlanPools, Ragged, ragged, transposed
from towerpace.plan.checks import check_compiled, check_numbers, check_parts, check_pools
from towerpace.plan.columns import Names, StepColumns, ints
from towerpace.plan.expand import expand
from towerpace.plan.holds import Holds
from towerpace.plan.lists import PlanLists
from towerpace.plan.numbering import columns_of
from towerpace.plan.parts import After, Moves, MoveTable, Place, Pool, Step, Window
from towerpace.plan.rigid import check_rigid, rigid_starts
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
    together, and lags that only let time pass come last.

    Parameters
    ----------
    steps : sequence of Step
    pools : sequence of Pool
    windows : sequence of Window
    horizon : int
        Nothing starts or ends later. [min]
    rigid : bool
        Whether a step that an FF or SF lag holds starts late enough to run to its end without a pause, as
        networks with generalised precedence are published, where it would stretch; see `After`. Its enabler
        is then a date.

    Raises
    ------
    PlanError
        Naming every fault; for rigid steps beside pools, windows or what chance may leave out, since a rigid
        start would need foresight of them. A draw with other minutes is refused when it is played.

    Examples
    --------
    >>> from towerpace import After, Plan, Pool, Step, run
    >>> plan = Plan(
    ...     [Step("set", work=30, needs={"crane": 1}), Step("seal", work=20, after=["set"])],
    ...     pools=[Pool("crane", 1)],
    ... )
    >>> run(plan).finish
    50
    >>> steps = [Step("i", 10), Step("j", 2, [After("i", kind="FF")]), Step("k", 5, [After("j", kind="SS")])]
    >>> run(Plan(steps)).finish, run(Plan(steps, rigid=True)).finish
    (10, 13)
    """

    rigid = False

    def __init__(
        self,
        steps: Sequence[Step],
        *,
        pools: Sequence[Pool] = (),
        windows: Sequence[Window] = (),
        horizon: int = DEFAULT_HORIZON_MIN,
        rigid: bool = False,
    ) -> None:
        check_parts(steps, pools=pools, windows=windows, horizon=horizon)
        if rigid:
            check_rigid(steps, pools=pools, windows=windows)
            steps, self.rigid = rigid_starts(steps), True
        expansion = expand(steps)
        self._first, self._last = expansion.first, expansion.last
        self._said = _as_said(steps) if len(expansion.steps) > len(steps) else {}
        columns = columns_of(expansion, pools=pools, windows=windows)
        self._compile(columns, ragged(columns.before), pools=pools, windows=windows, horizon=horizon)

    @classmethod
    def of_columns(
        cls,
        columns: StepColumns,
        before: Ragged,
        *,
        pools: Sequence[Pool],
        windows: Sequence[Window],
        horizon: int = DEFAULT_HORIZON_MIN,
    ) -> Plan:
        """A plan of steps that are written by number, without lags.

        What a writer cannot get wrong is not checked, what a scenario can is: see `check_compiled`.
        """
        plan = object.__new__(cls)
        plan._first, plan._last, plan._said = {}, {}, {}
        plan._compile(columns, before, pools=pools, windows=windows, horizon=horizon)
        check_pools(plan)
        return plan

    def _compile(
        self,
        columns: StepColumns,
        before: Ragged,
        *,
        pools: Sequence[Pool],
        windows: Sequence[Window],
        horizon: int,
    ) -> None:
        self.horizon, self.windows = int(horizon), tuple(windows)
        self.names, self.flags = Names(columns.names), Names(columns.flags)
        for word in ("work", "expected", "date", "rank", "window", "mode", "flag", "place", "panel"):
            setattr(self, word, ints(getattr(columns, word)))
        self.optional = np.array(columns.optional, dtype=np.bool_)
        self.planned = np.array(columns.planned, dtype=np.bool_)
        self.tag_of, self.tag_table = ints(columns.tag), tuple(columns.tag_table)
        self._number_pools(columns, pools)
        self.needs = ragged(columns.needs)
        self.quantities = ragged(columns.quantities)
        self.before, self.after = before, transposed(before)
        self.give_pool = columns.gives(columns.give_pool)
        self.give_quantity = columns.gives(columns.give_quantity)
        self.give_taker = columns.gives(columns.give_taker)
        check_compiled(self)

    def _number_pools(self, columns: StepColumns, pools: Sequence[Pool]) -> None:
        lines = tuple(dict.fromkeys(p.line for p in pools if p.line is not None))
        at = tuple(tuple(map(columns.place_number, p.at or ())) for p in pools)
        self.places = tuple(place for place in columns.places if place is not None)
        self.pools = PlanPools(
            names=tuple(p.name for p in pools),
            units=ints([p.units for p in pools]),
            first_come=np.array([p.order == "first come" for p in pools], dtype=np.bool_),
            line=ints([NONE if p.line is None else lines.index(p.line) for p in pools]),
            lines=lines,
            at=at,
            moves=_tables_of(pools, self.places),
            kinds=tuple(p.kind for p in pools),
        )

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
        """The plan as a networkx graph of its steps, to look at and to reckon with.

        Returns
        -------
        networkx.DiGraph
            Nodes are names of steps with `work` [min], `trade`, `level`, `zone`, `panel` (None where a step
            belongs to none) and `kind`. Edges lead to successors, with the type of the `link` ("FS", "SS",
            "FF" or "SF") and its `lag` [min], the last said where two steps are linked twice.

        Examples
        --------
        >>> from towerpace import After, Plan, Step
        >>> plan = Plan([Step("cast", work=60), Step("strip", work=30, after=[After("cast", lag=1440)])])
        >>> plan.graph().edges["cast", "strip"]
        {'link': 'FS', 'lag': 1440}
        """
        import networkx as nx

        graph: nx.DiGraph[str] = nx.DiGraph()
        for i, name in enumerate(self.names):
            if not self._said or name in self._said:
                panel = None if self.panel[i] == NONE else int(self.panel[i])
                graph.add_node(name, work=int(self.work[i]), **asdict(self.tags(i)) | {"panel": panel})
        for name, after in self._said.items():
            graph.add_edges_from((p.step, name, {"link": p.kind, "lag": p.lag}) for p in after)
        if not self._said:
            names = self.names
            plain = zip(self.before.values.tolist(), self.before.owners.tolist(), strict=True)
            graph.add_edges_from(((names[i], names[j]) for i, j in plain), link="FS", lag=0)
        return graph


def _as_said(steps: Sequence[Step]) -> dict[str, tuple[After, ...]]:
    """What every step comes after, in the words of the user."""
    return {s.name: tuple(After(p) if isinstance(p, str) else p for p in s.after) for s in steps}


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
