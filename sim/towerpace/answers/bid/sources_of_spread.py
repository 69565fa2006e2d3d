"""Where the spread of a forecast comes from, and draws in which some of it is switched off.

A source that is off takes what the plan says: planned minutes, planned dates, remedies left out, weather as
it was recorded. Streams of random numbers are keyed by purpose, so what stays on is drawn exactly as before.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from towerpace.answers.outline import calm
from towerpace.answers.prepare import Prepared
from towerpace.climate.hours import Hours
from towerpace.draws import Chooser, Draw, stream
from towerpace.plan.laws import Drawn, Durations, HandoverLaw, Ints, Law, Streams, WorkLaw
from towerpace.plan.site.absences import BreakdownLaw
from towerpace.plan.site.leave_outs import SlowerLaw
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.site.mock_up import TriesLaw
from towerpace.plan.site.paces import HinderedPace, RiskFactor
from towerpace.plan.site.risks import ChanceLaw, LateLevelLaw
from towerpace.plan.site.truck_laws import SkipLaw, TruckLaw

WEATHER = "weather"
MINUTES = "trade pace and item minutes"
STRUCTURE = "structure"
DELIVERIES = "deliveries"
BREAKAGE = "breakage and remakes"
BREAKDOWNS = "breakdowns"
MOCK_UP = "mock-up"
RISKS = "risk events"
OTHER = "other chances"
SOURCES = (WEATHER, MINUTES, STRUCTURE, DELIVERIES, BREAKAGE, BREAKDOWNS, MOCK_UP, RISKS, OTHER)

SOURCE_OF_LAW: dict[type, str] = {
    HandoverLaw: STRUCTURE,
    TruckLaw: DELIVERIES,
    SkipLaw: DELIVERIES,
    LossLaw: BREAKAGE,
    BreakdownLaw: BREAKDOWNS,
    TriesLaw: MOCK_UP,
    ChanceLaw: RISKS,
    LateLevelLaw: RISKS,
    SlowerLaw: MINUTES,
}
_SOURCE_OF_PURPOSE = {"unloading": DELIVERIES, "sorting a load": DELIVERIES}
_SOURCE_OF_PREFIX = {"size of risk ": RISKS, "mock-up: ": MOCK_UP}


def source_of_work(law: WorkLaw) -> str:
    """Source of the minutes of a group of steps, told by the purpose under which they are drawn."""
    purpose = law.terms[0].purpose if law.terms else ""
    for prefix, source in _SOURCE_OF_PREFIX.items():
        if purpose.startswith(prefix):
            return source
    return _SOURCE_OF_PURPOSE.get(purpose, MINUTES)


def sources_of(ready: Prepared) -> tuple[str, ...]:
    """Sources of spread that a plan has, whether or not anything varies in them."""
    found = {WEATHER} if ready.chooser.weather is not None else set()
    for law in ready.chooser.laws:
        if isinstance(law, Durations):
            found |= {source_of_work(work) for work in law.work}
            found |= {RISKS for _ in _risks(law)}
        else:
            found.add(SOURCE_OF_LAW.get(type(law), OTHER))
    return tuple(source for source in SOURCES if source in found)


@dataclass(frozen=True)
class Switched(Chooser):
    """Draws that begin with the plan, so that a law which is not there leaves what was planned.

    recorded : whether every trial has the weather as it was recorded, from the first year of the record on.
    """

    recorded: bool = False

    def draw(self, seed: int, trial: int) -> Draw:
        """Everything uncertain about one trial that has not been switched off."""
        into = Drawn(self.plan.work.copy(), self.plan.date.copy(), ~self.plan.planned)
        for law in self.laws:
            law.apply(into, partial(stream, seed, trial))
        return Draw(into.work, into.date, into.skip, self.hours(seed, trial))

    def hours(self, seed: int, trial: int) -> Hours | None:
        """The weather of one trial."""
        if self.recorded and self.weather is not None:
            return self.weather.replayed(0)
        return super().hours(seed, trial)


def without(ready: Prepared, off: Collection[str]) -> Switched:
    """Draws with some sources off, the others as they were.

    Raises `ValueError` for a source that the plan does not have.
    """
    unknown = sorted(set(off).difference(sources_of(ready)))
    if unknown:
        raise ValueError(f"no such source of spread in this plan: {', '.join(unknown)}")
    laws = tuple(kept for law in ready.chooser.laws for kept in _kept(law, off))
    return Switched(ready.chooser.plan, laws, ready.chooser.weather, recorded=WEATHER in off)


def alone(ready: Prepared, source: str) -> Switched:
    """Draws with one source on and all others off."""
    if source not in sources_of(ready):
        raise ValueError(f"no such source of spread in this plan: {source}")
    return without(ready, [other for other in sources_of(ready) if other != source])


def without_weather(ready: Prepared) -> Switched:
    """Draws with everything on in a world without weather: not as recorded, none at all."""
    return Switched(calm(ready.chooser.plan), ready.chooser.laws, None)


def _kept(law: Law, off: Collection[str]) -> Iterator[Law]:
    """What stays of a law."""
    if isinstance(law, Durations):
        yield from _durations(law, off)
    elif SOURCE_OF_LAW.get(type(law), OTHER) not in off:
        yield law


def _durations(law: Durations, off: Collection[str]) -> Iterator[Law]:
    """The minutes that stay uncertain, and risks that stretch planned ones."""
    pace = law.pace
    if RISKS in off and isinstance(pace, HinderedPace):
        others = tuple(one for one in pace.hindrances if not isinstance(one, RiskFactor))
        pace = replace(pace, hindrances=others)
    work = tuple(one for one in law.work if source_of_work(one) not in off)
    if work:
        yield Durations(work, pace)
    if MINUTES in off and RISKS not in off:
        for risk in _risks(law):
            yield StretchLaw(np.concatenate([w.steps for w in law.work if w.pace == risk.trade]), risk)


def _risks(law: Durations) -> Iterator[RiskFactor]:
    if isinstance(law.pace, HinderedPace):
        yield from (one for one in law.pace.hindrances if isinstance(one, RiskFactor))


@dataclass(frozen=True)
class StretchLaw:
    """Planned minutes of a trade times the factor of a risk, where the pace itself is not drawn.

    steps : (k,) steps of the trade.
    """

    steps: Ints
    risk: RiskFactor

    def apply(self, into: Drawn, streams: Streams) -> None:
        """Draw whether the risk befalls, and by how much it stretches."""
        usual = into.work[self.steps]
        longer = np.maximum(np.rint(usual * self.risk.factor(streams)), 1)
        into.work[self.steps] = np.where(usual > 0, longer, 0).astype(np.int64)
