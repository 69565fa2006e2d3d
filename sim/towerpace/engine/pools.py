"""Free units of every pool while a trial runs, and where positioned units stand."""

from __future__ import annotations

from towerpace.plan.model import NONE, Plan

LENT = -2  # a unit that does not exist, until it is given back


class PoolState:
    """Counts of free units, the last giver of each pool, and the places of positioned units."""

    def __init__(self, plan: Plan) -> None:
        pools = plan.pools
        self.free: list[int] = pools.units.tolist()
        self.last_giver: list[int] = [NONE] * len(self.free)
        self._given_at: list[int] = [NONE] * len(self.free)
        self._place, self._moves = plan.lists.place, plan.lists.moves
        self._at = [list(at) for at in pools.at]
        self._idle = [set(range(len(at))) for at in pools.at]
        self._held: dict[int, int] = {}
        self.needs = plan.lists.needs

    def short_of(self, step: int) -> int:
        """First pool, in the order of the needs, that has too few units for the step; or -1."""
        free = self.free
        for pool, quantity in self.needs[step]:
            if free[pool] < quantity:
                return pool
        return NONE

    def take(self, step: int) -> int:
        """Take everything the step needs; returns the minutes its positioned unit must move. [min]"""
        move = 0
        for pool, quantity in self.needs[step]:
            self.free[pool] -= quantity
            if self._moves[pool] is not None:
                move = self._send_nearest(pool, step)
        return move

    def _send_nearest(self, pool: int, step: int) -> int:
        """The nearest free unit goes to the step's place; ties go to the lowest number."""
        moves, at, place = self._moves[pool], self._at[pool], self._place[step]
        assert moves is not None
        if not self._idle[pool]:  # only a pinned step takes what is not there
            self._held[step] = LENT
            return 0
        way, unit = min((0 if place == NONE else moves[at[unit]][place], unit) for unit in self._idle[pool])
        self._idle[pool].remove(unit)
        self._held[step] = unit
        return way

    def give(self, pool: int, *, quantity: int, giver: int, taker: int, minute: int) -> None:
        """Units come free: the giver is remembered (of one minute, the highest number)."""
        self.free[pool] += quantity
        same_minute = self._given_at[pool] == minute
        self.last_giver[pool] = max(giver, self.last_giver[pool]) if same_minute else giver
        self._given_at[pool] = minute
        if self._moves[pool] is not None:
            unit = self._held.pop(taker)
            if unit == LENT:
                return
            for step in (taker, giver):
                if self._place[step] != NONE:
                    self._at[pool][unit] = self._place[step]
            self._idle[pool].add(unit)
