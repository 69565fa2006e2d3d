"""What a scenario is, before any trial: its size, its dates if all goes as planned, what lacks a source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from towerpace.answers.prepare import Prepared
from towerpace.draws import as_planned
from towerpace.engine.fastest import run
from towerpace.engine.names import EngineName
from towerpace.plan.model import Plan
from towerpace.plan.parts import Window
from towerpace.plan.site.tower import unlimited
from towerpace.scenario.assumptions import STARTING_VALUE

COMPILED_FROM = 100_000  # steps from which on three plays of the reference take longer than compiling


@dataclass(frozen=True)
class Outline:
    """Summary of a scenario.

    unhindered, calm, record : minute of the finish with planned durations: without weather and without
        limits to resources; with the resources; and with the record as it came as well. None if beyond the
        horizon; record is None too where there is no weather. [min]
    """

    levels: int
    zones: int
    panels: int
    steps: int
    windows: int
    resources: dict[str, int]
    unhindered: int | None
    calm: int | None
    record: int | None
    assumptions: int
    without_source: tuple[str, ...]
    warnings: tuple[str, ...]


def outline(ready: Prepared) -> Outline:
    """Summarise a scenario and play it three times as planned."""
    tower, weather = ready.tower, ready.chooser.weather
    calm_plan, engine = calm(tower.plan), _engine(tower.plan.n)
    record = None
    if weather is not None:
        record = run(tower.plan, as_planned(tower.plan, hours=weather.replayed(0)), engine=engine).finish
    return Outline(
        levels=len(tower.levels),
        zones=len(tower.zones),
        panels=int(np.size(tower.panels)),
        steps=tower.plan.n,
        windows=len(tower.plan.windows),
        resources={name: r.count for name, r in ready.scenario.settings.resource.items()},
        unhindered=run(unlimited(calm_plan), engine=engine).finish,
        calm=run(calm_plan, engine=engine).finish,
        record=record,
        assumptions=len(ready.scenario.assumptions()),
        without_source=tuple(ready.scenario.sources_missing()),
        warnings=(*_starting_values(ready), *tower.plan.warnings),
    )


def _engine(steps: int) -> EngineName:
    """Which engine plays a plan of so many steps as planned: the numbers do not depend on it."""
    return "fastest" if steps >= COMPILED_FROM else "reference"


def _starting_values(ready: Prepared) -> Iterator[str]:
    """What to say of numbers that a new scenario begins with."""
    assumptions = ready.scenario.assumptions()
    keys = [assumption.key for assumption in assumptions if assumption.source.startswith(STARTING_VALUE)]
    if keys:
        yield (
            f"{len(keys)} of {len(assumptions)} assumptions are starting values that nobody has stood for: "
            f"replace them, from {keys[0]} to {keys[-1]}"
        )


def calm(plan: Plan) -> Plan:
    """The same plan without weather: the shifts alone."""
    return plan.changed(windows=tuple(Window(w.name, w.shifts) for w in plan.windows))
