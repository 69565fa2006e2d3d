"""The scenario with units away while events say that they were out, and with what came late."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from towerpace.answers.prepare import Prepared, prepare
from towerpace.faults import Fault, InputError
from towerpace.plan.chance import Law
from towerpace.plan.model import Plan
from towerpace.plan.site.risks import HandoverLaw
from towerpace.plan.site.tower import Tower
from towerpace.plan.site.truck_laws import TruckLaw
from towerpace.record.effects import Struck
from towerpace.record.events import Event
from towerpace.scenario.complaints import dotted
from towerpace.scenario.load import load
from towerpace.scenario.schema import ClosedSpan, Resource, UnitDates
from towerpace.units import Ints

Span = dict[str, date]


def with_events(ready: Prepared, events: Sequence[Event], *, at: date, file: str) -> Prepared:
    """A scenario whose plan knows of events as they stood at the end of a day.

    Units are away while they are out, and levels and trucks that came late were to come so late: of those
    that no row dates the sheet alone would not tell. What has not come yet is left to chance.

    Raises
    ------
    InputError
        For more units out at once than there are without days of their own.
    """
    begun = [event for event in events if event.since <= at]
    known = _with_outages(ready, begun, at=at, file=file)
    tower = known.tower
    came = [e for e in begun if e.effect.comes_late and e.until is not None and e.until <= at]
    if not came:
        return known
    late = np.zeros(tower.plan.n, dtype=np.int64)
    for event in came:
        late[late_steps(event, tower)] += lateness_min(event, at)
    laws = tuple(_later(law, late) for law in tower.laws)
    plan = tower.plan.changed(date=_dates(tower, laws, late))
    later = replace(known, tower=replace(tower, laws=laws), chooser=replace(known.chooser, laws=laws))
    return with_plan(later, plan)


def with_plan(ready: Prepared, plan: Plan) -> Prepared:
    """A scenario with another plan of the same steps."""
    return replace(ready, tower=replace(ready.tower, plan=plan), chooser=replace(ready.chooser, plan=plan))


def lateness_min(event: Event, at: date) -> int:
    """Minutes by which something came later than due, so far. [min]"""
    return ((event.until or at) - event.since).days * 1440


def late_steps(event: Event, tower: Tower) -> Ints:
    """Steps at which what came late was there, (k,), from the lowest level up."""
    effect = event.effect
    if effect.struck is Struck.HANDOVER:
        return tower.handover[[tower.levels.index(level) for level in effect.levels]]
    of_laws = [law.steps for law in tower.laws if isinstance(law, TruckLaw)]
    trucks = np.concatenate([np.zeros(0, dtype=np.int64), *of_laws])
    tags = [tower.plan.tags(step) for step in trucks.tolist()]
    struck = [t.level in effect.levels and effect.zone in ("", t.zone) for t in tags]
    own: Ints = trucks[np.array(struck, dtype=np.bool_)]
    return own


def came_by_events(events: Sequence[Event], tower: Tower, *, seen_until: int) -> dict[int, int]:
    """When steps came of which events say so: the first level of each, and all of its trucks. [min]"""
    came: dict[int, int] = {}
    for event in events:
        if event.effect.comes_late and event.until is not None:
            own = late_steps(event, tower).tolist()
            own = own[:1] if event.effect.struck is Struck.HANDOVER else own
            came |= dict.fromkeys(own, event.to_min(tower.start, seen_until=seen_until))
    return came


def _later(law: Law, late: Ints) -> Law:
    if isinstance(law, HandoverLaw):
        return replace(law, planned=np.maximum.accumulate(law.planned + late[law.steps]))
    return replace(law, due=law.due + late[law.steps]) if isinstance(law, TruckLaw) else law


def _dates(tower: Tower, laws: Sequence[Law], late: Ints) -> Ints:
    """Planned dates of all steps, later where something came late. [min]"""
    date = tower.plan.date + late
    for law in laws:
        if isinstance(law, HandoverLaw):
            date[law.steps] = law.planned
    return date


def _with_outages(ready: Prepared, events: Sequence[Event], *, at: date, file: str) -> Prepared:
    changes, faults = dict[str, object](), list[Fault]()
    out = [event for event in events if event.effect.struck in (Struck.UNIT, Struck.UNITS)]
    for name in dict.fromkeys(event.effect.name for event in out):
        resource = ready.scenario.settings.resource[name]
        own = [event for event in out if event.effect.name == name]
        single = [event for event in own if event.effect.struck is Struck.UNIT]
        tables = list(_tables(single, at))
        if len(tables) > (spare := _alike(resource)):
            found = f"{len(tables)} units of {name} out at once"
            allowed = f"at most {spare}, those without days of their own"
            faults.append(Fault(file, single[-1].line, "effect", found, allowed))
        if tables:
            changes[dotted(("resource", name, "unit"))] = [*tables, *map(_table, resource.unit)]
        if whole := [_span(event, at) for event in own if event not in single]:
            changes[dotted(("resource", name, "away"))] = [*map(_raw, resource.away), *whole]
    if faults:
        raise InputError(faults)
    if not changes:
        return ready
    scenario = ready.scenario
    away = prepare(load(scenario.path, {**scenario.changes, **changes}, own=scenario.own))
    return replace(away, scenario=scenario)


def _alike(resource: Resource) -> int:
    return resource.count - sum(table.units for table in resource.unit)


def _span(event: Event, at: date) -> Span:
    return {"from": event.since, "to": min(event.until or at, at)}


def _raw(span: ClosedSpan) -> Span:
    return {"from": span.from_, "to": span.to}


def _tables(events: Sequence[Event], at: date) -> Iterator[dict[str, object]]:
    """A table a unit: those that are out at different times are one and the same."""
    units: list[list[Span]] = []
    for event in events:
        span = _span(event, at)
        free = next((spans for spans in units if spans[-1]["to"] < span["from"]), None)
        if free is None:
            units.append([span])
        else:
            free.append(span)
    yield from ({"units": 1, "away": spans} for spans in units)


def _table(of: UnitDates) -> dict[str, object]:
    dates = {"arrives": of.arrives, "leaves": of.leaves}
    known = {name: day for name, day in dates.items() if day is not None}
    return {"units": of.units, "away": [_raw(span) for span in of.away], **known}
