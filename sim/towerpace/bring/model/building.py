"""What a building model says of its storeys and elements, without their shapes."""

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

from towerpace.bring.extras import library
from towerpace.bring.model.mapping import ModelMap
from towerpace.faults import Fault, InputError, nearest_word

BEGIN, END = b"ISO-10303-21;", b"END-ISO-10303-21;"
SAME_M = 1e-3


@dataclass(frozen=True, slots=True)
class Storey:
    """One storey: its name, its height as the model states it, and where it lies in the model's space. [m]"""

    guid: str
    name: str
    elevation_m: float
    z_m: float


def open_model(path: Path) -> Any:
    """A model as ifcopenshell reads it.

    Raises
    ------
    InputError
        If it is no STEP file, ends too early, has a schema that the library does not know, or no unit of
        length.
    """
    file = str(path)
    content = path.read_bytes().strip()
    if not content.startswith(BEGIN):
        raise InputError([Fault(file, 1, "file", "no STEP file", "an .ifc file in STEP form")])
    if not content.endswith(END):
        line = content.count(b"\n") + 1
        raise InputError([Fault(file, line, "file", "an end without END-ISO-10303-21;", "the whole file")])
    ifcopenshell = library("ifcopenshell", asked_by=file)
    try:
        model = ifcopenshell.open(str(path))
    except (ifcopenshell.Error, ifcopenshell.SchemaError, RuntimeError) as error:
        raise InputError([Fault(file, None, "file", f"{error}", "IFC2X3, IFC4 or IFC4X3")]) from error
    units = [unit for one in model.by_type("IfcUnitAssignment") for unit in one.Units]
    if not any(getattr(unit, "UnitType", None) == "LENGTHUNIT" for unit in units):
        raise InputError([Fault(file, None, "IfcUnitAssignment", "missing unit of length", "a LENGTHUNIT")])
    return model


def storeys_of(model: Any, *, file: str, mapped: ModelMap) -> list[Storey]:
    """Storeys from the lowest up.

    Raises
    ------
    InputError
        If there are none, an elevation is blank, two are equal, it contradicts the storey's place, or the
        mapping names a storey that is not there.
    """
    unit = library("ifcopenshell.util.unit", asked_by=file).calculate_unit_scale(model)
    placement = library("ifcopenshell.util.placement", asked_by=file)
    faults, storeys = [], []
    for one in model.by_type("IfcBuildingStorey"):
        name = str(one.Name or "")
        if one.Elevation is None:
            faults.append(
                Fault(file, None, f'storey "{name}" {one.GlobalId}', "missing elevation", "a number")
            )
            continue
        elevation_m = one.Elevation * unit
        placed = one.ObjectPlacement is not None
        z_m = placement.get_local_placement(one.ObjectPlacement)[2][3] * unit if placed else elevation_m
        storeys.append(Storey(str(one.GlobalId), name, elevation_m, float(z_m)))
    storeys.sort(key=lambda one: one.elevation_m)
    faults += list(_storey_faults(storeys, file=file, mapped=mapped, blank=bool(faults)))
    if faults:
        raise InputError(faults)
    return storeys


def _storey_faults(storeys: list[Storey], *, file: str, mapped: ModelMap, blank: bool) -> Iterator[Fault]:
    if not storeys and not blank:
        yield Fault(file, None, "IfcBuildingStorey", "missing", "storeys with names and elevations")
        return
    names = Counter(storey.name for storey in storeys)
    for below, above in pairwise(storeys):
        if above.elevation_m - below.elevation_m < SAME_M:
            found = f"{above.elevation_m:g} m, as {below.name}"
            yield Fault(file, None, f'storey "{above.name}", elevation', found, "storeys above each other")
        rise, step = above.z_m - below.z_m, above.elevation_m - below.elevation_m
        if abs(rise - step) > SAME_M:
            found = f"{step:g} m above {below.name}, but placed {rise:g} m above it"
            yield Fault(file, None, f'storey "{above.name}", elevation', found, "both alike")
    for name in mapped.level:
        if names[name] != 1 and not blank:
            found = "missing storey" if not names[name] else f"{names[name]} storeys of this name"
            allowed = ", ".join(names)
            yield Fault(file, None, f'level."{name}"', found, allowed, nearest_word(name, names))


def type_name(element: Any) -> str:
    """Name of an element's type, or its own word for its type where it has none."""
    kind = library("ifcopenshell.util.element", asked_by="model").get_type(element)
    return str((kind.Name if kind is not None else element.ObjectType) or "")


def listed_in(element: Any) -> str | None:
    """Number of the storey that lists an element, whatever it is part of."""
    container = library("ifcopenshell.util.element", asked_by="model").get_container(element)
    return str(container.GlobalId) if container is not None else None


def is_inside(element: Any, name: str) -> bool:
    """Whether an element is part of one of a class, at any depth."""
    aggregate = library("ifcopenshell.util.element", asked_by="model").get_aggregate
    whole = aggregate(element)
    while whole is not None:
        if whole.is_a(name):
            return True
        whole = aggregate(whole)
    return False


def true_north_deg(model: Any, *, file: str) -> float:
    """Direction of true north in the model's plan, clockwise from its y axis. [degrees]

    Raises
    ------
    InputError
        If the model does not say it.
    """
    for context in model.by_type("IfcGeometricRepresentationContext", include_subtypes=False):
        if context.TrueNorth is not None:
            x, y = context.TrueNorth.DirectionRatios[:2]
            return math.degrees(math.atan2(x, y))
    raise InputError(
        [Fault(file, None, "TrueNorth", "missing", 'a model that says it, or north = "project"')]
    )


def has_class(model: Any, name: str) -> bool:
    """Whether the model's schema knows a class."""
    try:
        model.by_type(name)
    except RuntimeError:
        return False
    return True


def classes_found(model: Any) -> str:
    """Classes of building elements with their counts, most first."""
    counts = Counter(element.is_a() for element in model.by_type("IfcElement"))
    return ", ".join(f"{n:,} {name}" for name, n in counts.most_common()) or "no building elements"
