"""The words a plan is said in: steps, what comes before them, pools and windows.

All times are whole minutes since the scenario's first midnight; every interval is [from, to).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, Protocol, runtime_checkable

import numpy as np

from towerpace.climate.limits import HourLimit
from towerpace.units import Ints

Mode = Literal["always", "start", "work", "unbroken"]
LagKind = Literal["FS", "SS", "FF", "SF"]
Order = Literal["rank", "first come"]
PoolKind = Literal[
    "resource", "strip", "floor slots", "yard slots", "place at the gate", "factory", "one unit"
]
Place = Hashable
MODES: tuple[Mode, ...] = ("always", "start", "work", "unbroken")


@runtime_checkable
class MoveTable(Protocol):
    """A law of moves that makes its whole table at once."""

    def table(self, places: Sequence[Place]) -> Ints:
        """Minutes from every place to every other, (n_places, n_places). [min]"""


Moves = Callable[[Place, Place], int] | Mapping[tuple[Place, Place], int] | MoveTable


@dataclass(frozen=True, slots=True)
class After:
    """A predecessor with a lag, in the sense of Elmaghraby & Kamburowski (1992).

    With s and e for the start and the end of a step, j after i means
    FS: s_j >= e_i + lag; SS: s_j >= s_i + lag; FF: e_j >= e_i + lag; SF: e_j >= s_i + lag.

    A step held by FF or SF stretches: it starts as early as its own start allows, holds what it needs until
    its end, and ends when the lag lets it. Its SS and SF successors count from that early start. The
    published activity is rigid: it starts late enough to run to its end without a pause. So what follows an
    SS or SF successor of a stretched step may come earlier here than published: i of 10, j of 2 with FF
    from i, k of 5 with SS from j make 10, where rigid ones make 13. Where chance, windows or pools decide
    when i ends, a rigid start would need foresight; elsewhere `Plan(..., rigid=True)` makes all steps rigid.
    The source is quoted from memory.

    step : name of the predecessor i.
    lag : elapsed minutes, never negative (a negative lag needs foresight). [min]
    """

    step: str
    lag: int = 0
    kind: LagKind = "FS"


@dataclass(frozen=True, slots=True)
class Give:
    """Units handed to a pool when a step ends.

    taker : the step that took them earlier; None for units that arrive for the first time.
    """

    pool: str
    quantity: int = 1
    taker: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tags:
    """What a step belongs to, for the tables: nothing in the engine looks at it.

    kind : what its minutes are called when others wait for it ("hoist trip", "handover", ...).
    panel : number of the panel it is about, in planned order within its trade, from 0.
    """

    trade: str = ""
    level: int | None = None
    zone: str = ""
    kind: str = "work"
    panel: int | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """The atom of the plan.

    work : expected duration; a draw may replace it. [min]
    after : names, or `After` with a lag.
    needs : pool -> quantity, all taken together at the start.
    keeps : pools of `needs` that are not given back at the step's own end.
    gives : further units given at its end.
    window, mode : when it may start ("start": ends by the shift end, then runs on), or when it may work
        ("work": pauses while closed; "unbroken": what is done is lost when the window closes, and begun
        again at the next opening; both keep their pools); "always" goes without a window.
    date : earliest start. [min]
    rank : smaller is served first.
    place : where it stands, for positioned pools.
    skip : name of the flag under which a draw leaves the step out.
    planned : whether it is done if everything goes as planned; False for a remedy, which needs a flag.
    expected : minutes that must fit before the shift end in mode "start"; default `work`. [min]
    optional : it never holds the finish.
    """

    name: str
    work: int = 0
    after: Sequence[str | After] = ()
    needs: Mapping[str, int] = field(default_factory=dict)
    keeps: Collection[str] = ()
    gives: Sequence[Give] = ()
    window: str | None = None
    mode: Mode = "always"
    date: int = 0
    rank: int = 0
    place: Place | None = None
    skip: str | None = None
    planned: bool = True
    expected: int | None = None
    optional: bool = False
    tags: Tags = Tags()


@dataclass(frozen=True, slots=True)
class Pool:
    """Interchangeable units of one resource, or positioned ones.

    order : who is served first among those that wait: by rank, or by the minute they became ready.
    line : pools of one line are served strictly in order; a head that cannot start holds the line.
    at : places of the units at minute 0, for a positioned pool (one place a unit).
    moves : minutes from place to place, as a function or a mapping of pairs. [min]
    kind : what it stands for, for the tables: nothing in the engine looks at it.
    """

    name: str
    units: int
    order: Order = "rank"
    line: str | None = None
    at: Sequence[Place] | None = None
    moves: Moves | None = None
    kind: PoolKind = "resource"


@dataclass(frozen=True, slots=True)
class Window:
    """When work may go on: shifts, less weather limits, less fixed stops.

    shifts : (n, 2) minutes [from, to), ascending and apart; a break ends a shift. [min]
    limits : hourly weather limits, in the order in which they are blamed.
    stops : (n, 2) fixed closures inside the shifts, blamed on the weather before `limits`. [min]
    """

    name: str
    shifts: Sequence[tuple[int, int]] | Ints
    limits: Sequence[HourLimit] = ()
    stops: Sequence[tuple[int, int]] | Ints = ()

    @property
    def longest_shift(self) -> int:
        """What may start in the window must fit into this. [min]"""
        shifts = np.asarray(self.shifts, dtype=np.int64).reshape(-1, 2)
        return int((shifts[:, 1] - shifts[:, 0]).max(initial=0))


class PlanError(ValueError):
    """A plan that cannot be run; `faults` says everything that is wrong with it, a sentence each."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(faults))

    def __reduce__(self) -> tuple[Any, tuple[Any, ...]]:
        return PlanError, (self.faults,)
