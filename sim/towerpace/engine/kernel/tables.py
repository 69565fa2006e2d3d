"""A plan as the kernel reads it: one array of whole numbers, written once and checked."""

from __future__ import annotations

from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from towerpace.engine.kernel import columns as c
from towerpace.engine.kernel.checks import check_plan
from towerpace.engine.kernel.closures import Closures
from towerpace.engine.kernel.site import at_minute_0
from towerpace.plan.lists import START
from towerpace.plan.model import NONE, Plan, Ragged
from towerpace.weather.hours import Variable

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


class Compiled:
    """What the kernel needs of a plan, the same in every trial.

    plan : the array, laid out as `columns` says. start : the site at minute 0.
    variables : of the weather, that some limit compares, in the order in which limits count them.
    bounds : (2 n_limits,) of each limit its ratio [-] and its bound [unit of the variable].

    Raises
    ------
    ValueError
        If an array of the plan does not fit the others: compiled code would read past its end.
    """

    def __init__(self, plan: Plan) -> None:
        check_plan(plan)
        closures = Closures(plan)
        self.variables: tuple[Variable, ...] = closures.variables
        self.bounds: Floats = closures.bounds.reshape(-1)
        self.plan = _Packing(plan, closures).packed()
        placed = np.array([place for at in plan.pools.at for place in at], dtype=np.int64)
        self.start = at_minute_0(self.plan, placed=placed)


_MADE: WeakKeyDictionary[Plan, Compiled] = WeakKeyDictionary()


def compiled(plan: Plan) -> Compiled:
    """The tables of a plan, made when first asked for; a plan changed by `changed` is another plan."""
    made = _MADE.get(plan)
    if made is None:
        made = _MADE[plan] = Compiled(plan)
    return made


class _Packing:
    """Puts region after region into one array, and shares out the array of a trial."""

    def __init__(self, plan: Plan, closures: Closures) -> None:
        self._plan, self._closures = plan, closures
        self._head = np.zeros(c.PLAN_HEAD, dtype=np.int64)
        self._parts: list[Ints] = [self._head]
        self._size, self._site_size = c.PLAN_HEAD, c.SITE_HEAD

    def packed(self) -> Ints:
        plan, closures = self._plan, self._closures
        n, n_pools = plan.n, len(plan.pools.names)
        self._head[[c.N_STEPS, c.HORIZON, c.BITS]] = n, plan.horizon, max(n - 1, 1).bit_length()
        self._head[[c.N_PLACES, c.N_POOLS, c.N_WINDOWS]] = len(plan.places), n_pools, len(plan.windows)
        self._head[c.WINDOWS] = self._put(closures.windows)
        self._head[c.SPANS], self._head[c.LIMITS] = self._put(closures.spans), self._put(closures.limits)
        self._head[c.STORIES] = self._reserve(n * c.STORY_COLUMNS)
        self._head[c.STOCKS] = self._reserve(n_pools * c.STOCK_COLUMNS)
        self._head[c.PLACES] = self._reserve(sum(len(at) for at in plan.pools.at) * c.UNIT_COLUMNS)
        self._head[c.QUEUES] = self._reserve(len(plan.pools.lines))
        self._head[c.CURSORS] = self._reserve(closures.n_calendars)
        self._head[c.WORK_SPACE] = self._site_size
        for slot in (c.FUTURE, c.AFRESH, c.STACK):
            self._head[slot] = self._reserve(n)
        self._head[c.GAINED] = self._reserve(n_pools)
        self._steps()
        self._pools()
        self._lines()
        self._head[c.ROWS] = self._head[c.SITE_SIZE] = self._site_size
        return np.concatenate(self._parts)

    def _put(self, table: Ints) -> int:
        start = self._size
        self._parts.append(table.reshape(-1))
        self._size += table.size
        return start

    def _reserve(self, size: int) -> int:
        start = self._site_size
        self._site_size += size
        return start

    def _list(self, *columns: Ragged) -> Ints:
        """Put lists of rows; where the rows of each step begin, and the end."""
        first = self._put(np.column_stack([x.values for x in columns]))
        return first + columns[0].start * len(columns)

    def _steps(self) -> None:
        plan = self._plan
        order = np.lexsort((np.arange(plan.n), plan.rank))
        turn = np.empty(plan.n, dtype=np.int64)
        turn[order] = np.arange(plan.n)
        self._head[c.TURNS] = self._put(order)
        steps = np.zeros((plan.n + 1, c.STEP_COLUMNS), dtype=np.int64)
        own: dict[int, Ints | NDArray[np.bool_]] = {
            c.WINDOW: plan.window,
            c.MODE: plan.mode,
            c.EXPECTED: np.where(plan.mode == START, plan.expected, 0),
            c.PLACE: plan.place,
            c.LINE: plan.line,
            c.FIRST_COME: plan.first_come,
            c.TURN: turn,
            c.BEFORE: np.diff(plan.before.start),
        }
        for column, values in own.items():
            steps[:-1, column] = values
        steps[:, c.NEEDS] = self._list(plan.needs, plan.quantities)
        steps[:, c.GIVES] = self._list(plan.give_pool, plan.give_quantity, plan.give_taker)
        steps[:, c.AFTER] = self._list(plan.after)
        self._head[c.STEPS] = self._put(steps)

    def _pools(self) -> None:
        pools = self._plan.pools
        table = np.zeros((len(pools.names), c.POOL_COLUMNS), dtype=np.int64)
        placed = int(self._head[c.PLACES])
        users = np.bincount(self._plan.needs.values, minlength=len(pools.names)).tolist()
        for k, (units, at, moves) in enumerate(zip(pools.units, pools.at, pools.moves, strict=True)):
            table[k, c.UNITS], table[k, c.N_PLACED], table[k, c.WATCH_ROOM] = units, len(at), users[k]
            table[k, c.WATCHERS], table[k, c.PUT_ASIDE] = self._reserve(users[k]), self._reserve(users[k])
            table[k, c.PLACED] = placed
            table[k, c.MOVES] = NONE if moves is None else self._put(moves)
            placed += len(at) * c.UNIT_COLUMNS
        self._head[c.POOLS] = self._put(table)

    def _lines(self) -> None:
        lines = self._plan.line
        rooms = np.bincount(lines[lines != NONE], minlength=len(self._plan.pools.lines)).tolist()
        table = np.array([[self._reserve(room), room] for room in rooms], dtype=np.int64)
        self._head[c.LINES] = self._put(table)
