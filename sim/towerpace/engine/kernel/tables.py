"""A plan as the kernel reads it: one array of whole numbers, written once and checked."""

from __future__ import annotations

from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from towerpace.climate.hours import Variable
from towerpace.engine.kernel import columns as c
from towerpace.engine.kernel.checks import check_plan
from towerpace.engine.kernel.closures import Closures
from towerpace.engine.kernel.gather import Crowds
from towerpace.engine.kernel.site import at_minute_0
from towerpace.plan.lists import START
from towerpace.plan.model import NONE, Plan, Ragged

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
        self.start = at_minute_0(self.plan, placed=placed, missing=np.diff(plan.before.start))


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
        self._order: Ints = np.lexsort((np.arange(plan.n), plan.rank))
        self._turn: Ints = np.argsort(self._order)
        self._found = Crowds(plan, turn=self._turn)

    def packed(self) -> Ints:
        plan, closures = self._plan, self._closures
        n, n_pools = plan.n, len(plan.pools.names)
        self._head[[c.N_STEPS, c.HORIZON, c.BITS]] = n, plan.horizon, max(n - 1, 1).bit_length()
        self._head[[c.N_PLACES, c.N_POOLS, c.N_WINDOWS]] = len(plan.places), n_pools, len(plan.windows)
        self._head[c.WINDOWS] = self._put(closures.windows)
        self._head[c.SPANS], self._head[c.LIMITS] = self._put(closures.spans), self._put(closures.limits)
        for slot in range(c.READY, c.BEHIND + 1):
            self._head[slot] = self._reserve(n)
        self._head[c.STOCKS] = self._reserve(n_pools * c.STOCK_COLUMNS)
        self._head[c.PLACES] = self._reserve(sum(len(at) for at in plan.pools.at) * c.UNIT_COLUMNS)
        self._head[c.QUEUES] = self._reserve(len(plan.pools.lines))
        self._head[c.CURSORS] = self._reserve(closures.n_calendars)
        self._crowds()
        for slot in (c.WORKS, c.DATES, c.SKIPS, c.AFRESH, c.STACK):
            self._head[slot] = self._reserve(n)
        self._head[c.FUTURE_ROOM] = n + len(self._found.classes)
        self._head[c.FUTURE] = self._reserve(int(self._head[c.FUTURE_ROOM]))
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

    def _crowds(self) -> None:
        """Put the crowds; what must be set out at minute 0 is the last before the work space."""
        table, classes, members = self._found.crowds, self._found.classes, self._found.members
        self._head[c.N_CROWDS] = len(table)
        self._head[c.TURNOUTS] = self._reserve(len(table) * c.TURNOUT_COLUMNS)
        self._head[c.ALARMS] = self._reserve(len(classes))
        self._head[c.TREES] = self._site_size
        table[:, c.TREE] = [self._reserve(2 * leaves) for leaves in table[:, c.LEAVES].tolist()]
        self._head[c.WORK_SPACE] = self._site_size
        n_classes = (table[:, c.END_CLASS] - table[:, c.FIRST_CLASS]).tolist()
        table[:, c.FITS] = [self._reserve(n * c.FIT_COLUMNS) for n in n_classes]
        self._head[c.SINCE] = self._reserve(len(members))
        self._head[c.CROWDS], self._head[c.CLASSES] = self._put(table), self._put(classes)
        self._head[c.MEMBERS] = self._put(members)

    def _steps(self) -> None:
        plan = self._plan
        self._head[c.TURNS] = self._put(self._order)
        steps = np.zeros((plan.n + 1, c.STEP_COLUMNS), dtype=np.int64)
        own: dict[int, Ints | NDArray[np.bool_]] = {
            c.WINDOW: plan.window,
            c.MODE: plan.mode,
            c.EXPECTED: np.where(plan.mode == START, plan.expected, 0),
            c.PLACE: plan.place,
            c.LINE: plan.line,
            c.FIRST_COME: plan.first_come,
            c.TURN: self._turn,
            c.MEMBER: self._found.member,
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
        watchers = self._watchers()
        for k, (units, at, moves) in enumerate(zip(pools.units, pools.at, pools.moves, strict=True)):
            table[k, c.UNITS], table[k, c.N_PLACED], table[k, c.WATCH_ROOM] = units, len(at), watchers[k]
            for column in (c.WATCHERS, c.PUT_ASIDE):
                table[k, column] = self._reserve(watchers[k])
            table[k, c.PLACED] = placed
            table[k, c.MOVES] = NONE if moves is None else self._put(moves)
            placed += len(at) * c.UNIT_COLUMNS
        self._room_for_crowds(table)
        self._head[c.POOLS] = self._put(table)

    def _watchers(self) -> list[int]:
        """How many steps of each pool may watch it: its users, but for the members of its crowds."""
        single = np.flatnonzero(self._found.member != NONE)
        members = self._plan.needs.values[self._plan.needs.start[single]]
        n_pools = len(self._plan.pools.names)
        users = np.bincount(self._plan.needs.values, minlength=n_pools)
        watchers: list[int] = (users - np.bincount(members, minlength=n_pools)).tolist()
        return watchers

    def _room_for_crowds(self, table: Ints) -> None:
        """Room for the crowds of each pool, and for a mark after each gain and before the first."""
        crowds = np.bincount(self._found.crowds[:, c.POOL], minlength=len(table)).tolist()
        gains = np.bincount(self._plan.give_pool.values, minlength=len(table)).tolist()
        for k, n_crowds in enumerate(crowds):
            room = gains[k] + 1 if n_crowds else 0
            table[k, c.CROWDED], table[k, c.MARK_ROOM] = self._reserve(n_crowds), room
            table[k, c.MARKS] = self._reserve(room * c.MARK_COLUMNS)

    def _lines(self) -> None:
        lines = self._plan.line
        rooms = np.bincount(lines[lines != NONE], minlength=len(self._plan.pools.lines)).tolist()
        table = np.array([[self._reserve(room), room] for room in rooms], dtype=np.int64)
        self._head[c.LINES] = self._put(table)
