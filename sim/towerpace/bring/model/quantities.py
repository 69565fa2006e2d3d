"""Panels and linings of a model counted by level, zone and column."""

import csv
import io
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from towerpace.bring.brought import Brought, Tally
from towerpace.bring.extras import library
from towerpace.bring.model.building import (
    Storey,
    classes_found,
    has_class,
    is_inside,
    listed_in,
    open_model,
    storeys_of,
    true_north_deg,
    type_name,
)
from towerpace.bring.model.mapping import FULL_TURN, ModelMap, Rule
from towerpace.bring.model.shapes import Shape, azimuth_deg, plan_centre, position_deg, shapes_of
from towerpace.bring.refusals import refuse
from towerpace.faults import Fault, InputError
from towerpace.scenario.guarded import guarded
from towerpace.scenario.tables import CsvTable

Front = tuple[int, str]
NOWHERE = "in no level or zone"


@dataclass(frozen=True, slots=True)
class Counted:
    """One element that a rule counts."""

    element: Any
    rule: Rule
    type_name: str

    @property
    def text(self) -> str:
        """The element as people find it again in the model."""
        return f"{self.element.is_a()} {self.element.GlobalId} ({self.type_name or 'no type'})"


@dataclass(slots=True)
class Sorted:
    """Elements by front and column, and those that are not."""

    sums: dict[tuple[Front, str], float] = field(default_factory=lambda: defaultdict(float))
    elements: Counter[str] = field(default_factory=Counter)
    nowhere: list[tuple[str, str]] = field(default_factory=list)


def bring_quantities(path: Path, *, mapped: ModelMap, leave_out: bool, levels: CsvTable | None) -> Brought:
    """Counts by level and zone from a building model.

    Parameters
    ----------
    path
        The model, IFC in STEP form.
    mapped
        The mapping file.
    leave_out
        Whether elements in no level or zone are left out and listed; else each is a fault.
    levels
        A level table that the counts are put into; without it the table has level, zone, height and counts.

    Raises
    ------
    InputError
        If the model cannot be read, nothing counts, or with every element that is in no level or zone or fits
        two rules.
    """
    file, model = str(path), open_model(path)
    storeys = storeys_of(model, file=file, mapped=mapped)
    counted, left_out = _counted(model, file=file, mapped=mapped)
    shapes = shapes_of(model, [one.element for one in counted], file=file)
    north_deg = true_north_deg(model, file=file) if mapped.north == "true" else 0.0
    found = _sorted(counted, shapes=shapes, storeys=storeys, mapped=mapped, north_deg=north_deg)
    faults = [*_missing_fronts(found, levels=levels)] if levels is not None else []
    if not leave_out:
        allowed = "a place in a level and zone of the mapping, or --leave-out"
        faults += [Fault(file, None, text, why, allowed) for text, why in found.nowhere]
    refuse(faults)
    columns = list(dict.fromkeys(rule.column for rule in mapped.count))
    n_counted = sum(found.elements.values())
    left_out[NOWHERE] = len(found.nowhere)
    return Brought(
        text=_table(found, columns=columns, storeys=storeys, mapped=mapped, levels=levels),
        sources=(path,),
        tallies=(
            Tally(
                "building elements",
                n_counted + sum(left_out.values()),
                n_counted,
                dict(left_out.most_common()),
            ),
        ),
        left_out=tuple(f"{text}: {why}" for text, why in found.nowhere),
        lines=tuple(_lines(found, columns=columns, mapped=mapped)),
        warnings=tuple(_warnings(storeys=storeys, mapped=mapped, levels=levels)),
        made_by=f"ifcopenshell {library('ifcopenshell', asked_by=file).version}",
    )


def _counted(model: Any, *, file: str, mapped: ModelMap) -> tuple[list[Counted], Counter[str]]:
    """Elements that one rule counts, and how many of the others there are by reason."""
    named = {name for rule in mapped.count for name in (rule.class_, rule.inside) if name}
    if wrong := [name for name in sorted(named) if not has_class(model, name)]:
        allowed = f"a class of {model.schema}, as IfcPlate"
        raise InputError(Fault(file, None, "count", f'the class "{name}"', allowed) for name in wrong)
    counted, left_out, faults = [], Counter[str](), []
    for element in model.by_type("IfcElement"):
        of_class = [rule for rule in mapped.count if element.is_a(rule.class_)]
        within = [rule for rule in of_class if rule.inside is None or is_inside(element, rule.inside)]
        name = type_name(element) if within else ""
        fitting = [rule for rule in within if rule.fits(name)]
        if len(fitting) == 1:
            counted.append(Counted(element, fitting[0], name))
        elif fitting:
            patterns = " and ".join(f'"{rule.type}" ({rule.column})' for rule in fitting)
            text = Counted(element, fitting[0], name).text
            faults.append(Fault(file, None, text, f"two rules, {patterns}", "one rule for a type"))
        else:
            left_out[_reason(element, of_class=of_class, within=within, name=name)] += 1
    if faults:
        raise InputError(faults)
    if not counted:
        rules = ", ".join(f"{rule.class_} of type {rule.type}" for rule in mapped.count)
        there = f"in the model: {classes_found(model)}"
        raise InputError([Fault(file, None, "count", f"none of {rules}", there)])
    return counted, left_out


def _reason(element: Any, *, of_class: Sequence[Rule], within: Sequence[Rule], name: str) -> str:
    if not of_class:
        return str(element.is_a())
    if not within:
        return f"{element.is_a()} not inside {' or '.join(sorted({str(rule.inside) for rule in of_class}))}"
    return f'{element.is_a()} of type "{name}"'


def _sorted(
    counted: Sequence[Counted],
    *,
    shapes: Mapping[int, Shape],
    storeys: Sequence[Storey],
    mapped: ModelMap,
    north_deg: float,
) -> Sorted:
    found = Sorted()
    storey_of = {
        one.element.id(): _storey(one, shape=shapes[one.element.id()], storeys=storeys, mapped=mapped)
        for one in counted
        if one.element.id() in shapes
    }
    centre_of = {
        storey: plan_centre([shapes[k] for k, other in storey_of.items() if other == storey])
        for storey in set(storey_of.values())
    }
    for one in counted:
        number = one.element.id()
        storey = storey_of.get(number)
        fault = _level_fault(shapes.get(number), storey=storey, mapped=mapped)
        zone = None
        if fault is None and storey is not None:
            direction = azimuth_deg if one.rule.zone_by == "face" else position_deg
            azimuth = direction(shapes[number], centre=centre_of[storey])
            turned = None if azimuth is None else (azimuth - north_deg) % FULL_TURN
            zone, fault = _zone(one, azimuth=turned, mapped=mapped)
        if fault is not None or zone is None or storey is None:
            found.nowhere.append((one.text, fault or "no zone"))
            continue
        found.elements[one.rule.column] += 1
        amount = 1.0 if one.rule.measure == "count" else shapes[number].area_m2
        found.sums[(mapped.level[storey.name], zone), one.rule.column] += amount
    return found


def _level_fault(shape: Shape | None, *, storey: Storey | None, mapped: ModelMap) -> str | None:
    """Why an element is in no level, or None."""
    if shape is None:
        return "no shape"
    if storey is None:
        return f"bottom at {shape.bottom_m:.3f} m, below the lowest storey or listed in none"
    if storey.name not in mapped.level:
        return f'bottom at {shape.bottom_m:.3f} m, in storey "{storey.name}", which is no level'
    return None


def _storey(one: Counted, *, shape: Shape, storeys: Sequence[Storey], mapped: ModelMap) -> Storey | None:
    """The storey that lists an element, or the highest no more than the tolerance above its bottom."""
    if one.rule.level_by == "storey":
        guid = listed_in(one.element)
        return next((storey for storey in storeys if storey.guid == guid), None)
    below = [storey for storey in storeys if storey.z_m <= shape.bottom_m + mapped.tolerance_m.value]
    return below[-1] if below else None


def _zone(one: Counted, *, azimuth: float | None, mapped: ModelMap) -> tuple[str | None, str | None]:
    """Zone of an element, or why it has none."""
    if mapped.zone_property is not None:
        group, _, name = mapped.zone_property.partition(".")
        value = library("ifcopenshell.util.element", asked_by="model").get_pset(one.element, group, name)
        missing = f"no property {mapped.zone_property}"
        return (None, missing) if value in (None, "") else (str(value), None)
    if azimuth is None:
        return (
            None,
            "no direction: a face that looks up, or neither in nor out, or the very middle",
        )
    zones = mapped.zones_of(azimuth)
    return (zones[0], None) if zones else (None, f"faces {azimuth:.1f} degrees, which is no zone")


def _table(
    found: Sorted,
    *,
    columns: Sequence[str],
    storeys: Sequence[Storey],
    mapped: ModelMap,
    levels: CsvTable | None,
) -> str:
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    if levels is not None:
        kept = [column for column in levels.columns if column not in columns]
        table.writerow([*kept, *columns])
        for row in levels.rows:
            front = int(row.cells["level"]), row.cells["zone"]
            table.writerow(
                [*(guarded(row.cells[name]) for name in kept), *_counts(found, front=front, columns=columns)]
            )
        return text.getvalue()
    heights = {mapped.level[one.name]: one.elevation_m for one in storeys if one.name in mapped.level}
    table.writerow(["level", "zone", "height_m", *columns])
    for level, height_m in sorted(heights.items()):
        for zone in _zones(found, mapped=mapped):
            counts = _counts(found, front=(level, zone), columns=columns)
            table.writerow([level, guarded(zone), f"{height_m:.10g}", *counts])
    return text.getvalue()


def _counts(found: Sorted, *, front: Front, columns: Sequence[str]) -> list[int]:
    return [round(found.sums.get((front, column), 0.0)) for column in columns]


def _zones(found: Sorted, *, mapped: ModelMap) -> list[str]:
    return list(mapped.zone) or sorted({zone for (_, zone), _ in found.sums})


def _missing_fronts(found: Sorted, *, levels: CsvTable) -> Iterator[Fault]:
    """Fronts of the model that a level table does not have."""
    there = {(int(row.cells["level"]), row.cells["zone"]) for row in levels.rows}
    for level, zone in sorted({front for front, _ in found.sums} - there):
        text = f'missing level {level}, zone "{zone}", where the model has elements'
        yield Fault(levels.file, None, "level, zone", text, "a row for each level and zone of the model")


def _lines(found: Sorted, *, columns: Sequence[str], mapped: ModelMap) -> Iterator[str]:
    """Sums of each column, and of its zones."""
    measure = {rule.column: rule.measure for rule in mapped.count}
    for column in columns:
        by_zone: dict[str, float] = defaultdict(float)
        for ((_, zone), name), value in found.sums.items():
            if name == column:
                by_zone[zone] += value
        area = measure[column] == "area_m2"
        amounts = {zone: f"{value:,.1f} m2" if area else f"{value:,.0f}" for zone, value in by_zone.items()}
        total = f", {sum(by_zone.values()):,.1f} m2 of one face" if area else ""
        zones = ", ".join(
            f"{zone} {amounts[zone]}" for zone in _zones(found, mapped=mapped) if zone in amounts
        )
        yield f"{column}: {found.elements[column]:,} elements{total}; {zones}"
        if area:
            written = sum(round(value) for (_, name), value in found.sums.items() if name == column)
            yield f"  written as {written:,}, whole m2 of each level and zone"


def _warnings(*, storeys: Sequence[Storey], mapped: ModelMap, levels: CsvTable | None) -> Iterator[str]:
    other = [storey.name for storey in storeys if storey.name not in mapped.level]
    if other:
        yield f"Storeys that are no level: {', '.join(other)}"
    if levels is None:
        yield "No level table yet: it lacks difficulty and handover; --levels FILE puts the counts into one"
