"""Risks that delay: a step that is left out unless the risk befalls, or a later handover."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from towerpace.plan.laws import DAY_MIN, Drawn, Law, Streams, Term
from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import handover_name
from towerpace.scenario.levels import Levels
from towerpace.scenario.schema import Risk, Settings
from towerpace.scenario.spreads import Spread

Ints = NDArray[np.int64]
RISKS = "risks"


@dataclass(frozen=True)
class ChanceLaw:
    """Leaves steps out unless a risk befalls.

    steps : (k,). purpose : of the stream that decides. chance : that it befalls. [-]
    """

    steps: Ints
    purpose: str
    chance: float

    def apply(self, into: Drawn, streams: Streams) -> None:
        """Draw whether the risk befalls."""
        into.skip[self.steps] = not streams(self.purpose).random() < self.chance


@dataclass(frozen=True)
class LateLevelLaw:
    """Makes a level and all above it later if a risk befalls, as every slip of the structure does.

    steps : (k,) handovers of the level and of those above. size : delay. [d]
    """

    steps: Ints
    risk: str
    chance: float
    size: Spread

    def apply(self, into: Drawn, streams: Streams) -> None:
        """Draw whether the risk befalls, and how long it lasts."""
        if streams(f"risk {self.risk}").random() < self.chance:
            days = self.size.quantile(streams(f"size of risk {self.risk}").random(1))
            into.date[self.steps] += np.rint(days * DAY_MIN).astype(np.int64)


def add_delays(draft: Draft, settings: Settings, *, on: str, after: list[str], date: int = 0) -> list[str]:
    """Steps that hold what follows them for the days of every risk to `on`; the last of them, or none.

    after, date : what the thing itself waits for; only then can the delay begin. [min]
    """
    last: list[str] = []
    for risk in settings.risk:
        if risk.on == on and risk.delay_days is not None:
            last = [_add_delay(draft, risk, risk.delay_days, after=last or after, date=date)]
    return last


def _add_delay(draft: Draft, risk: Risk, days: Spread, *, after: list[str], date: int) -> str:
    name = f"risk {risk.name}"
    chance = Chance(factor=DAY_MIN, terms=(Term(days, f"size of risk {risk.name}"),))
    draft.laws.append(partial(_chance_law, step=name, chance=float(risk.chance)))
    return draft.add(
        Step(
            name,
            work=draft.expected(chance),
            after=after,
            date=date,
            skip=name,
            planned=False,
            tags=Tags(trade=RISKS, kind=name),
        ),
        chance=chance,
    )


def _chance_law(index: dict[str, int], *, step: str, chance: float) -> Law:
    return ChanceLaw(np.array([index[step]], dtype=np.int64), step, chance)


def add_late_levels(draft: Draft, settings: Settings, levels: Levels) -> None:
    """Laws of the risks that make levels late."""
    for risk in settings.risk:
        if risk.on == "handover" and risk.delay_days is not None:
            assert risk.level is not None, "the scenario is checked when it is loaded"
            late = levels.levels[levels.index(risk.level) :]
            draft.laws.append(partial(_late_level_law, risk=risk, size=risk.delay_days, levels=late))


def _late_level_law(index: dict[str, int], *, risk: Risk, size: Spread, levels: tuple[int, ...]) -> Law:
    steps = np.array([index[handover_name(level)] for level in levels], dtype=np.int64)
    return LateLevelLaw(steps, risk.name, float(risk.chance), size)
