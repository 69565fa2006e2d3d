"""What chance decided in every trial, as a few numbers that a reader knows: paces, slips, late trucks, ...

Numbers that can be read off the arrays of a draw are kept with its trial; those behind them (pace factors,
how windy the years are, risks) are drawn once more from their own streams, which always give the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from towerpace.answers.ledger.waits import open_before
from towerpace.answers.open_years import operations_of, window_at
from towerpace.answers.prepare import Prepared
from towerpace.climate.generate import year_factors
from towerpace.draws import Draw, stream
from towerpace.engine.openings import Opening
from towerpace.plan.chance import MINUTES, RISKS, WEATHER, Probe
from towerpace.plan.laws import Durations
from towerpace.plan.parts import Window
from towerpace.plan.site.paces import pace_means, risk_purpose
from towerpace.units import HOUR_MIN, Floats, Ints


@dataclass(frozen=True)
class Input:
    """One drawn number of every trial. values : (n,), in the unit."""

    name: str
    source: str
    unit: str
    values: Floats


def probes_of(ready: Prepared, *, until: int) -> list[Probe]:
    """Everything to be read off a draw. until : minute up to which weather and breakdowns count."""
    plan = ready.tower.plan
    probes = [probe for law in ready.chooser.laws for probe in law.probes(plan, until=until)]
    return [*probes, *_lost_hours(ready, until=until)]


def drawn_inputs(ready: Prepared, read: Ints, *, seed: int, until: int) -> list[Input]:
    """All inputs of trials 0 .. n - 1.

    read : (n, n_probes) what the probes found in each trial.
    """
    paces = _paces(ready, seed=seed, n=len(read))
    inputs = [Input(f"pace of {trade}", MINUTES, "-", factors) for trade, factors in paces.items()]
    means = pace_means(ready.scenario.settings)
    for probe, column in zip(probes_of(ready, until=until), read.T, strict=True):
        values = column / probe.scale
        if probe.pace is not None:
            values = values / (paces[probe.pace] / means[probe.pace])
        inputs.append(Input(probe.name, probe.source, probe.unit, values))
    return [*inputs, *_windy_years(ready, seed=seed, n=len(read)), *_risks(ready, seed=seed, n=len(read))]


def _paces(ready: Prepared, *, seed: int, n: int) -> dict[str, Floats]:
    """Pace factor of every trade in every trial, (n,) each. [-]"""
    law = next(law for law in ready.chooser.laws if isinstance(law, Durations))
    drawn = [law.pace.factors(partial(stream, seed, trial)) for trial in range(n)]
    return {trade: np.array([factors[trade] for factors in drawn]) for trade in ready.tower.trades}


def _lost_hours(ready: Prepared, *, until: int) -> Iterator[Probe]:
    """Hours of the calendar that weather takes from every operation at half the height of the tower."""
    scenario = ready.scenario
    if ready.chooser.weather is None:
        return
    middle = float(scenario.levels.height_m[len(scenario.levels.levels) // 2])
    for operation in operations_of(scenario):
        window = window_at(scenario, operation, height_m=middle)
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
        lots = np.array([stream(seed, trial, risk_purpose(risk.name)).random() for trial in range(n)])
        befalls = (lots < float(risk.chance)).astype(np.float64)
        yield Input(f"risk {risk.name}", RISKS, "befalls", befalls)
