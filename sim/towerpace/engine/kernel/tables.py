"""A plan as the kernel reads it: checked, and its arrays as they stand at minute 0, made once."""

from __future__ import annotations

import threading
from weakref import WeakKeyDictionary

import numpy as np

from towerpace.compiling.jit import numba
from towerpace.compiling.pages import on_pages
from towerpace.draws import as_planned
from towerpace.engine.diary import NEVER, ORIGIN
from towerpace.engine.kernel.air import Air
from towerpace.engine.kernel.arrays import (
    NONE,
    ClockArrays,
    DrawnArrays,
    Numbers,
    PoolArrays,
    StepArrays,
    TrialArrays,
)
from towerpace.engine.kernel.checks import check_plan
from towerpace.engine.kernel.events import FIRST
from towerpace.engine.kernel.gather import crowds_of, starts
from towerpace.engine.kernel.order import in_order, order_of
from towerpace.engine.kernel.play import play
from towerpace.engine.kernel.trial import Room
from towerpace.engine.kernel.windows import CalendarsAndLimits
from towerpace.plan.lists import START
from towerpace.plan.model import Plan
from towerpace.units import Ints


class CompiledPlan:
    """What the kernel needs of a plan, the same in every trial.

    by_number : the steps in the order of the plan.
    start : all arrays at minute 0, the steps in the order of the kernel, without draw and weather.
    variables : of the weather, that some limit compares, in the order in which limits count them.

    Raises
    ------
    ValueError
        If an array of the plan does not fit the others: compiled code would read past its end.
    """

    def __init__(self, plan: Plan) -> None:
        check_plan(plan)
        self._rooms = threading.local()
        by_turn = np.lexsort((np.arange(plan.n), plan.rank))
        turn = np.argsort(by_turn)
        calendars = CalendarsAndLimits(plan)
        self.variables = calendars.variables
        crowds, member = crowds_of(plan, turn=turn)
        self.by_number = _steps(plan, turn=turn, member=member)
        self.start = TrialArrays(
            drawn=_drawn(plan),
            steps=self.by_number,
            pools=_pools(plan, member=member),
            windows=calendars.arrays(),
            crowds=crowds,
            clock=_clock(plan, by_turn=by_turn, n_classes=len(crowds.class_min)),
        )
        if plan.n >= MANY and numba() is not None:
            self.put_in_order(self._order_as_planned(plan))
            self.start = on_pages(self.start)

    def put_in_order(self, order: Ints) -> None:
        """Have the kernel keep the steps in an order; before it has played any trial.

        order : (n,) numbers of the steps.
        """
        steps, place = in_order(self.by_number, order), np.argsort(order)
        by_turn = place[self.start.clock.by_turn]
        self.start = self.start._replace(steps=steps, clock=self.start.clock._replace(by_turn=by_turn))

    def _order_as_planned(self, plan: Plan) -> Ints:
        """The order of the steps when all goes as planned in still, dry air."""
        draw, n_variables = as_planned(plan), len(self.variables)
        still = Air(np.zeros((n_variables, 1)), np.zeros(1, dtype=np.int64), np.zeros(1), 0)
        room = Room(self.start)  # holds what compiled code is told the addresses of
        trial = room.set_out(draw=draw, air=still)
        play(trial.handed)
        return order_of(trial.started, skip=draw.skip)

    @property
    def room(self) -> Room:
        """Where this thread plays the trials of the plan."""
        if not hasattr(self._rooms, "own"):
            self._rooms.own = Room(self.start)
        own: Room = self._rooms.own
        return own


# Steps from which on their order matters: what is read of fewer is always near at hand.
MANY = 2000
_COMPILED: WeakKeyDictionary[Plan, CompiledPlan] = WeakKeyDictionary()


def compiled(plan: Plan) -> CompiledPlan:
    """The tables of a plan, made when first asked for; a plan changed by `changed` is another plan."""
    tables = _COMPILED.get(plan)
    if tables is None:
        tables = _COMPILED[plan] = CompiledPlan(plan)
    return tables


def _steps(plan: Plan, *, turn: Ints, member: Ints) -> StepArrays:
    return StepArrays(
        window=_numbers(plan.window),
        mode=_numbers(plan.mode),
        expected=np.where(plan.mode == START, plan.expected, 0),
        place=_numbers(plan.place),
        line=_numbers(plan.line),
        first_come=plan.first_come.copy(),
        turn=_numbers(turn),
        member=_numbers(member),
        first_need=_numbers(plan.needs.start),
        need_pool=_numbers(plan.needs.values),
        need_quantity=_own(plan.quantities.values),
        first_give=_numbers(plan.give_pool.start),
        give_pool=_numbers(plan.give_pool.values),
        give_quantity=_own(plan.give_quantity.values),
        give_taker=_numbers(plan.give_taker.values),
        first_after=_numbers(plan.after.start),
        after=_numbers(plan.after.values),
        number=_numbers(np.arange(plan.n)),
        n_before=_numbers(np.diff(plan.before.start)),
        leader=_numbers(_leaders(plan)),
        work=np.zeros(plan.n, dtype=np.int32),
        date=np.zeros(plan.n, dtype=np.int32),
        skip=np.zeros(plan.n, dtype=np.bool_),
        **dict.fromkeys(("began", "ended", "left"), np.full(plan.n, NONE, dtype=np.int64)),
        ready=np.full(plan.n, NEVER, dtype=np.int32),
        started=np.full(plan.n, NEVER, dtype=np.int32),
        finished=np.full(plan.n, NEVER, dtype=np.int32),
        enabler=np.full(plan.n, ORIGIN, dtype=np.int32),
        missing=np.zeros(plan.n, dtype=np.int32),
        watched=np.full(plan.n, NONE, dtype=np.int32),
        unit=np.full(plan.n, NONE, dtype=np.int32),
        is_behind=np.zeros(plan.n, dtype=np.bool_),
    )


def _drawn(plan: Plan) -> DrawnArrays:
    """Room for what a trial brings and takes away: arrays of its own take their places."""
    stamps = dict.fromkeys(("ready", "started", "finished", "enabler"), np.zeros(plan.n, dtype=np.int32))
    return DrawnArrays(_own(plan.work), _own(plan.date), np.zeros(plan.n, dtype=np.bool_), **stamps)


def _pools(plan: Plan, *, member: Ints) -> PoolArrays:
    pools, n_pools, n_places = plan.pools, len(plan.pools.names), len(plan.places)
    laws = {id(moves): moves for moves in pools.moves if moves is not None}
    number = {law: k for k, law in enumerate(laws, start=1)}  # table 0 stands for plans without positions
    first_watcher = starts(_watchers(plan, member=member) + 1)
    n_in_line = np.bincount(plan.line[plan.line != NONE], minlength=len(pools.lines))
    first_in_line = starts(n_in_line + 1)
    # A step takes of a pool once, and gives once.
    n_users = np.bincount(plan.needs.values, minlength=n_pools)
    first_level = starts(n_users + np.bincount(plan.give_pool.values, minlength=n_pools))
    placed = np.array([place for at in pools.at for place in at], dtype=np.int64)
    return PoolArrays(
        free=_own(pools.units),
        last_giver=np.full(n_pools, NONE),
        given_at=np.full(n_pools, NONE),
        has_gained=np.zeros(n_pools, dtype=np.bool_),
        gained=np.zeros(n_pools + 1, dtype=np.int64),
        first_watcher=first_watcher,
        watchers=np.zeros(first_watcher[-1], dtype=np.int64),
        set_aside=np.zeros(first_watcher[-1], dtype=np.int64),
        moves=np.array([NONE if m is None else number[id(m)] for m in pools.moves], dtype=np.int64),
        move_min=np.stack([np.zeros((n_places, n_places), dtype=np.int64), *laws.values()]),
        first_unit=starts(np.array([len(at) for at in pools.at], dtype=np.int64)),
        unit_place=placed,
        unit_is_idle=np.ones(len(placed), dtype=np.bool_),
        first_in_line=first_in_line,
        line_keys=np.zeros(first_in_line[-1], dtype=np.int64),
        first_level=first_level,
        n_levels=np.zeros(n_pools, dtype=np.int64),
        level_min=np.zeros(first_level[-1], dtype=np.int32),
        level_free=np.zeros(first_level[-1], dtype=np.int64),
    )


def _watchers(plan: Plan, *, member: Ints) -> Ints:
    """How many steps may watch each pool, (n_pools,): its users, but for the members of its crowds."""
    in_crowds = np.flatnonzero(member != NONE)
    their_pools = plan.needs.values[plan.needs.start[in_crowds]]
    n_pools = len(plan.pools.names)
    watchers: Ints = np.bincount(plan.needs.values, minlength=n_pools)
    return watchers - np.bincount(their_pools, minlength=n_pools)


def _clock(plan: Plan, *, by_turn: Ints, n_classes: int) -> ClockArrays:
    return ClockArrays(
        horizon=plan.horizon,
        data_date=0,
        has_pins=0,
        bits=max(plan.n - 1, 1).bit_length(),
        by_turn=by_turn,
        future=np.zeros(plan.n + n_classes + 1, dtype=np.int64),
        in_turn=np.zeros(plan.n + FIRST, dtype=np.int64),
        to_look_at=np.zeros(plan.n + 1, dtype=np.int64),
        released=np.zeros(plan.n + 1, dtype=np.int64),
        out_of_room=np.zeros(1, dtype=np.bool_),
    )


def _leaders(plan: Plan) -> Ints:
    """The first step that carries the same flag as each step, (n,), or NONE."""
    _, first, which = np.unique(plan.flag, return_index=True, return_inverse=True)
    return np.where(plan.flag == NONE, NONE, first[which])


def _own(numbers: Ints) -> Ints:
    """A copy in one piece: whoever changes the plan's arrays later does not change what the kernel reads."""
    return np.array(numbers, dtype=np.int64)


def _numbers(numbers: Ints) -> Numbers:
    """A copy of what counts steps, pools or places."""
    return np.array(numbers, dtype=np.int32)
