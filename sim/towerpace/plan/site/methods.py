"""Ways of lifting panels other than the floor crane: what they take and keep, and what their cycle is.

A way of lifting is data of the scenario. It takes its units with a lift, with a front, or with a strip; what
differs is where in the plan the units are taken and given back, and how many minutes a lift has.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import groupby

import numpy as np

from towerpace.plan.columns import Handed
from towerpace.plan.lists import WORK
from towerpace.plan.parts import Pool
from towerpace.plan.site.drafting import Draft, DrawnMinutes, Uncertain
from towerpace.plan.site.fronts import HOISTING, Front, StepKey, front_done, strip_pool
from towerpace.plan.site.logistics import COUNTED_LATER, Crate, whole_strip
from towerpace.plan.site.numbers import Numbers, Recipe
from towerpace.scenario.schema import Method, PanelTrade, Settings
from towerpace.scenario.spreads import Spread
from towerpace.units import Floats

STRIP_SET_UP = "crane move"


def method_of(settings: Settings, name: str) -> Method:
    """A way of lifting of the scenario."""
    return settings.method[name]


def runs_of(crates: Sequence[Crate]) -> list[list[Crate]]:
    """Crates of a front, those together that are lifted the same way one after the other."""
    return [list(run) for _, run in groupby(crates, key=lambda crate: crate.method)]


def lift_minutes(*, family: str, method: str, purpose: str, trade: str, again: Recipe) -> DrawnMinutes:
    """Minutes of a lift: the setting time at the trade's pace, learning and difficulty, and the cycle on top.

    again : factor of difficulty, learning and return visits on the setting time of each front, (n_fronts,).

    Notes
    -----
    pace x (f x set_factor x set_min + cycle_min + way up and back), f the factor of the front.
    """

    def weights(numbers: Numbers) -> Floats:
        factor = np.asarray(again(numbers), dtype=np.float64)
        own = float(method_of(numbers.settings, method).set_factor)
        return np.stack([np.full(len(factor), own), 1 / factor], axis=1)

    def way(numbers: Numbers) -> Floats:
        speed = method_of(numbers.settings, method).speed_m_s
        if speed is None:
            return np.zeros(len(numbers.fronts))
        return 2 * np.abs(numbers.height_m) / float(speed) / 60 / np.asarray(again(numbers), dtype=np.float64)

    terms = (
        Uncertain(lambda n: n.settings.family[family].set_min, purpose),
        Uncertain(lambda n: method_of(n.settings, method).cycle_min, f"cycle of {method}"),
    )
    return DrawnMinutes(terms, factor=again, fixed=way, pace=trade, weights=weights)


def set_up_minutes(method: str, *, again: bool = False) -> DrawnMinutes:
    """Minutes of setting it up for a front or a strip, or on a return visit."""
    purpose = f"setting up {method}" + (" again" if again else "")
    return DrawnMinutes((Uncertain(lambda n: method_of(n.settings, method).set_up_min, purpose),))


def shift_minutes(method: str) -> DrawnMinutes:
    """Minutes of shifting it along a front."""
    return DrawnMinutes((Uncertain(partial(_reposition_min, method), f"shifting {method}"),))


def _reposition_min(method: str, numbers: Numbers) -> Spread:
    minutes = method_of(numbers.settings, method).reposition_min
    assert minutes is not None, "the scenario is checked when it is loaded"
    return minutes


def ground_pool(method: str) -> str:
    """Room for crates on the ground within reach."""
    return f"ground for {method}"


@dataclass
class Grounds:
    """Room on the ground for crates that are lifted straight from there; a pool for each way that limits it.

    Room is taken for all crates of a front at once, when the front may begin and its floor slots are its own.
    So whoever owns such room waits for nothing but its trucks, which then always get in, and for a gang,
    which only fronts keep that own all their room: the site never locks.
    """

    draft: Draft

    def claim(
        self,
        trade: str,
        front: Front,
        crates: Sequence[Crate],
        *,
        after: Sequence[int | StepKey],
        rank: int,
    ) -> dict[str, int]:
        """The step that takes the room of each way on a front."""
        claims: dict[str, int] = {}
        for name in dict.fromkeys(crate.method for crate in crates if crate.straight):
            assert name is not None, "only a way of its own lifts straight from the ground"
            if method_of(self.draft.settings, name).ground_crates is None:
                continue
            room = self.draft.units({self._pool(name): sum(crate.method == name for crate in crates)})
            claims[name] = self.draft.add(
                (trade, " ", front.where, ": ", ground_pool(name)),
                after=[*after, *claims.values()],
                needs=room,
                keeps=room.pools,
                rank=rank,
                tags=self.draft.tags(HOISTING, front, kind="ground"),
            )
        return claims

    def _pool(self, method: str) -> str:
        name = ground_pool(method)
        if not any(pool.name == name for pool in self.draft.pools):
            pool = Pool(name, COUNTED_LATER, line=name, kind="yard slots")
            self.draft.pool(pool, units=lambda n: method_of(n.settings, method).ground_crates or 0)
        return name


@dataclass
class Strips:
    """Writes what hangs over a strip: set up before its first front there, taken down when all are done."""

    draft: Draft
    name: str
    trade: PanelTrade
    _up: dict[tuple[str, str], int] = field(default_factory=dict, init=False)
    _fronts: dict[tuple[str, str], list[Front]] = field(default_factory=dict, init=False)

    def step(self, method: str, front: Front, *, after: Sequence[int | StepKey], rank: int) -> list[int]:
        """The step after which a front may begin, written with the first front of its strip."""
        terms = method_of(self.draft.settings, method)
        if terms.kept != "strip":
            return []
        key = method, front.zone
        if key not in self._up:
            strip = {strip_pool(front.zone): whole_strip(self.draft.settings)}
            self._up[key] = self.draft.add(
                (self.name, " ", front.zone, ": ", method, " set up"),
                after=after,
                needs=self.draft.units({**strip, **self.trade.needs, **terms.needs}),
                keeps=self.draft.units(terms.needs).pools,
                window=self.draft.closures.window(self.trade.calendar, limits=(), height_m=0.0),
                mode=WORK,
                rank=rank,
                stands=front.where,
                tags=self.draft.tags(self.name, front, kind=STRIP_SET_UP),
                minutes=set_up_minutes(method),
                item=front.number,
            )
        self._fronts.setdefault(key, []).append(front)
        return [self._up[key]]

    def close(self) -> None:
        """Give back what hangs over each strip when its fronts are done."""
        for (method, zone), fronts in self._fronts.items():
            needs = self.draft.units(method_of(self.draft.settings, method).needs)
            last = fronts[-1]
            self.draft.add(
                (self.name, " ", zone, ": ", method, " taken down"),
                after=[front_done(self.name, front) for front in fronts],
                gives=[Handed(needs, self._up[method, zone])],
                stands=last.where,
                tags=self.draft.tags(self.name, last, kind="leaving"),
            )
