"""What chance decided in every trial, as a few numbers that a reader knows: paces, slips, late trucks, ...

Numbers that can be read off the arrays of a draw are kept with its trial; those behind them (pace factors,
how windy the years are, risks) are drawn once more from their own streams, which always give the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.bid.sources_of_spread import (
    BREAKAGE,
    BREAKDOWNS,
    DELIVERIES,
    MINUTES,
    MOCK_UP,
    RISKS,
    STRUCTURE,
    WEATHER,
    source_of_work,
)
from towerpace.answers.ledger.waits import open_before
from towerpace.answers.prepare import Prepared
from towerpace.answers.workable import operations_of
from towerpace.climate.generate import year_factors
from towerpace.draws import Draw, stream
from towerpace.engine.openings import Opening
from towerpace.plan.laws import Durations
from towerpace.plan.model import NONE
from towerpace.plan.parts import Window
from towerpace.plan.site.absences import BreakdownLaw
from towerpace.plan.site.closures import Closures
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.site.mock_up import TriesLaw
from towerpace.plan.site.paces import pace_means
from towerpace.plan.site.truck_laws import SkipLaw, TruckLaw

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
DAY_MIN, HOUR_MIN = 1440, 60
PACE_OF, MINUTES_OF = "pace of ", "item minutes of "


@dataclass(frozen=True)
class Input:
    """One drawn number of every trial. values : (n,), in the unit."""

    name: str
    source: str
    unit: str
    values: Floats


@dataclass(frozen=True)
class Probe:
    """Reads one number off a draw, as a whole number. scale : so many of them make one of the unit."""

    name: str
    source: str
    unit: str
    scale: float
    read: Callable[[Draw], int]


def probes_of(ready: Prepared, *, until: int) -> list[Probe]:
    """Everything to be read off a draw. until : minute up to which weather and breakdowns count."""
    found = [*_minutes(ready), *_structure(ready)]
    for law in ready.chooser.laws:
        if isinstance(law, TruckLaw):
            found += _trucks(law, ready)
        elif isinstance(law, SkipLaw):
            found.append(Probe(law.purpose, DELIVERIES, "trucks", 1, partial(_taken, law.steps)))
        elif isinstance(law, LossLaw):
            found += _losses(law)
        elif isinstance(law, TriesLaw):
            found.append(Probe("repeats of the mock-up", MOCK_UP, "tries", 1, partial(_repeats, law)))
        elif isinstance(law, BreakdownLaw):
            read = partial(_repairs, law.steps.ravel(), until)
            found.append(Probe(f"hours of {law.name} in repair", BREAKDOWNS, "h", HOUR_MIN, read))
    return [*found, *_lost_hours(ready, until=until)]


def drawn_inputs(ready: Prepared, read: Ints, *, seed: int, until: int) -> list[Input]:
    """All inputs of trials 0 .. n - 1.

    read : (n, n_probes) what the probes found in each trial.
    """
    inputs = _paces(ready, seed=seed, n=len(read))
    pace = {one.name.removeprefix(PACE_OF): one.values for one in inputs}
    means = pace_means(ready.scenario.settings)
    for probe, column in zip(probes_of(ready, until=until), read.T, strict=True):
        values = column / probe.scale
        trade = probe.name.removeprefix(MINUTES_OF)
        if probe.name.startswith(MINUTES_OF) and trade in pace:
            values = values / (pace[trade] / means[trade])
        inputs.append(Input(probe.name, probe.source, probe.unit, values))
    return [*inputs, *_windy_years(ready, seed=seed, n=len(read)), *_risks(ready, seed=seed, n=len(read))]


def _paces(ready: Prepared, *, seed: int, n: int) -> list[Input]:
    law = next(law for law in ready.chooser.laws if isinstance(law, Durations))
    drawn = [law.pace.factors(partial(stream, seed, trial)) for trial in range(n)]
    return [
        Input(f"{PACE_OF}{trade}", MINUTES, "-", np.array([one[trade] for one in drawn]))
        for trade in ready.tower.trades
    ]


def _minutes(ready: Prepared) -> Iterator[Probe]:
    """Drawn over planned minutes of everything of one kind, apart from the pace; remedies are left out."""
    plan, kinds = ready.tower.plan, dict[tuple[str, str], list[Ints]]()
    law = next(law for law in ready.chooser.laws if isinstance(law, Durations))
    for work in law.work:
        steps = work.steps[plan.planned[work.steps]]
        if len(steps) and work.terms:
            name = work.terms[0].purpose if work.pace is None else f"{MINUTES_OF}{work.pace}"
            kinds.setdefault((name, source_of_work(work)), []).append(steps)
    for (name, source), parts in kinds.items():
        steps = np.concatenate(parts)
        planned = int(plan.work[steps].sum())
        if planned:
            yield Probe(name, source, "of planned", planned, partial(_sum_of, steps))


def _sum_of(steps: Ints, draw: Draw) -> int:
    return int(draw.work[steps].sum())


def _structure(ready: Prepared) -> Iterator[Probe]:
    top = int(ready.tower.handover[-1])
    planned = int(ready.tower.plan.date[top])

    def late(draw: Draw) -> int:
        return int(draw.date[top]) - planned

    yield Probe("slip of the top level", STRUCTURE, "d", DAY_MIN, late)


def _trucks(law: TruckLaw, ready: Prepared) -> Iterator[Probe]:
    plan = ready.tower.plan

    def late(draw: Draw) -> Ints:
        if law.delivery.lead_days is None:
            return draw.date[law.steps] - law.due
        return draw.work[law.steps] - plan.work[law.steps]

    def number(draw: Draw) -> int:
        return int(np.count_nonzero(late(draw) > 0))

    def hours(draw: Draw) -> int:
        return int(np.maximum(late(draw), 0).sum())

    yield Probe("late trucks", DELIVERIES, "trucks", 1, number)
    yield Probe("hours of late trucks, summed", DELIVERIES, "h", HOUR_MIN, hours)


def _taken(steps: Ints, draw: Draw) -> int:
    return int(np.count_nonzero(~draw.skip[steps]))


def _losses(law: LossLaw) -> Iterator[Probe]:
    """How many panels are lost, and the longest wait for a new one: those found later apart."""
    kinds = {
        f"lost panels of {law.trade}": (law.unfit, law.broken),
        f"panels of {law.trade} lost later": (law.later,),
    }
    for name, chains in kinds.items():
        firsts = np.concatenate([chain[:, 0] for chain in chains])
        steps = np.unique(firsts[firsts != NONE])
        if len(steps):
            yield Probe(name, BREAKAGE, "panels", 1, partial(_taken, steps))
            yield Probe(f"{name}: longest wait", BREAKAGE, "d", DAY_MIN, partial(_longest, steps))


def _longest(steps: Ints, draw: Draw) -> int:
    return int(draw.work[steps[~draw.skip[steps]]].max(initial=0))


def _repeats(law: TriesLaw, draw: Draw) -> int:
    return _taken(law.again[:, 1], draw)


def _repairs(steps: Ints, until: int, draw: Draw) -> int:
    return int(draw.work[steps[draw.date[steps] < until]].sum())


def _lost_hours(ready: Prepared, *, until: int) -> Iterator[Probe]:
    """Hours of the calendar that weather takes from every operation at half the height of the tower."""
    scenario, closures = ready.scenario, Closures(ready.scenario.settings)
    if ready.chooser.weather is None:
        return
    middle = float(scenario.levels.height_m[len(scenario.levels.levels) // 2])
    for operation in operations_of(scenario):
        name = closures.window(operation.calendar, limits=operation.limits, height_m=middle)
        window = next(window for window in closures.windows if window.name == name)
        label = f"weather hours: {operation.name}"
        yield Probe(label, WEATHER, "h", HOUR_MIN, partial(_closed, window, until))


def _closed(window: Window, until: int, draw: Draw) -> int:
    opening = Opening(window, hours=draw.hours, horizon=until)
    end = np.array([until], dtype=np.int64)
    return int(open_before(opening.shifts, end)[0] - open_before(opening.spans, end)[0])


def _windy_years(ready: Prepared, *, seed: int, n: int) -> Iterator[Input]:
    weather = ready.chooser.weather
    if weather is None or weather.block_days is None or not weather.year_factor_sd:
        return
    rngs = [stream(seed, trial, "windy years") for trial in range(n)]
    factors = [year_factors(1, sd=weather.year_factor_sd, rng=rng)[0] for rng in rngs]
    yield Input("wind of the first year", WEATHER, "of record", np.array(factors))


def _risks(ready: Prepared, *, seed: int, n: int) -> Iterator[Input]:
    """Whether each risk befalls, 1 or 0."""
    for risk in ready.scenario.settings.risk:
        lots = np.array([stream(seed, trial, f"risk {risk.name}").random() for trial in range(n)])
        befalls = (lots < float(risk.chance)).astype(np.float64)
        yield Input(f"risk {risk.name}", RISKS, "befalls", befalls)
