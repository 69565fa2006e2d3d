"""The mapping file of a model: what counts as what, and where it belongs."""

import tomllib
from collections.abc import Iterator
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, ValidationError

from towerpace.faults import Fault, InputError
from towerpace.scenario.complaints import Complaint, dotted
from towerpace.scenario.fields import NumberFrom0, SourcedTable, Text, Whole
from towerpace.scenario.positions import line_index, syntax_fault_place
from towerpace.scenario.quantities import Value
from towerpace.scenario.raw import with_tuples
from towerpace.scenario.words import Words, complaints_of

COLUMN = r"^[a-z][a-z0-9_]*$"
FULL_TURN = 360

Degrees = Annotated[float, Field(ge=0, le=FULL_TURN), Words("degrees clockwise from north, 0 to 360")]
Sector = Annotated[
    tuple[Degrees, Degrees], Words("two numbers of degrees clockwise from north, from and to, as [315, 45]")
]
Column = Annotated[
    str,
    StringConstraints(pattern=COLUMN),
    Words("a column of the level table: lower-case letters, digits, _"),
]


class Rule(SourcedTable):
    """[[count]]: elements of one class whose type fits a pattern are one column.

    class : class of the model, its subclasses included. type : pattern of the type's name, * for any letters.
    inside : class that they must be part of, at any depth. measure : how many, or the area of one face.
    level_by : "bottom" for what hangs on the outside, "storey" for what is inside, as a ceiling just below
    the floor above. zone_by : "face" for where it looks, "position" for where it lies from the middle.
    """

    class_: Text = Field(alias="class")
    type: Text = "*"
    inside: Text | None = None
    column: Column
    measure: Literal["count", "area_m2"] = "count"
    level_by: Literal["bottom", "storey"] = "bottom"
    zone_by: Literal["face", "position"] = "face"

    def fits(self, type_name: str) -> bool:
        """Whether a type's name fits the pattern; letter case counts."""
        return fnmatchcase(type_name, self.type)


class ModelMap(SourcedTable):
    """A whole mapping file.

    tolerance_m : how far below a storey's level the bottom of its panels may lie. [m]
    level : number of the level by the storey's name. north : what zones are counted from.
    zone : from and to of each zone. zone_property : property that names the zone, as Set.Property.
    """

    tolerance_m: NumberFrom0 = Value(0.3)
    level: Annotated[
        dict[str, Whole], Field(min_length=1), Words('names of storeys and levels, as "Level 1" = 1')
    ]
    north: Literal["project", "true"] | None = None
    zone: Annotated[dict[str, Sector], Words("zones and their degrees, as north = [315, 45]")] = Field(
        default_factory=dict
    )
    zone_property: Annotated[str, StringConstraints(pattern=r"^.+\..+$"), Words("Set.Property")] | None = None
    count: Annotated[tuple[Rule, ...], Words("tables [[count]]")]

    def zones_of(self, azimuth_deg: float) -> list[str]:
        """Zones that a direction lies in."""
        return [name for name, sector in self.zone.items() if _in(azimuth_deg, sector)]


def load_map(path: Path) -> ModelMap:
    """Read and check a mapping file.

    Raises
    ------
    InputError
        With every fault of the file.
    """
    file = str(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
        tree = tomllib.loads(text)
    except OSError as error:
        raise InputError(
            [Fault(file, None, "--map", f"missing file: {error.strerror}", "a TOML file")]
        ) from None
    except ValueError as error:
        line, found = syntax_fault_place(error, path.read_text(encoding="utf-8-sig", errors="replace"))
        raise InputError([Fault(file, line, "syntax", found, "TOML 1.0")]) from None
    complaints: list[Complaint] = []
    try:
        found_map = ModelMap.model_validate(with_tuples(tree))
        complaints += _rules(found_map)
    except ValidationError as error:
        complaints += complaints_of(error, root=ModelMap)
    if complaints:
        lines = line_index(text)
        raise InputError(
            Fault(file, _line(lines, one.path), dotted(one.path), one.found, one.allowed, one.nearest)
            for one in complaints
        )
    return found_map


def _rules(found: ModelMap) -> Iterator[Complaint]:
    """What no single key can say."""
    if not found.count:
        yield Complaint(("count",), "an empty list", "tables [[count]], at least one")
    if bool(found.zone) == (found.zone_property is not None):
        text = "both" if found.zone else "missing"
        yield Complaint(("zone",), text, "either tables of degrees in [zone] or zone_property")
    if found.zone and found.north is None:
        yield Complaint(("north",), "missing", '"project" or "true": where the degrees of [zone] begin')
    for name, (begin, _) in found.zone.items():
        for other in found.zones_of(begin % FULL_TURN):
            if other != name:
                yield Complaint(
                    ("zone", name), f"{begin:g} degrees, which lie in {other} too", "zones side by side"
                )
    numbers = list(found.level.values())
    for name, number in found.level.items():
        if numbers.count(number) > 1:
            yield Complaint(("level", name), f"{number} twice", "each level from one storey")


def _in(azimuth_deg: float, sector: tuple[float, float]) -> bool:
    begin, end = sector
    return begin <= azimuth_deg < end if begin < end else azimuth_deg >= begin or azimuth_deg < end


def _line(lines: dict[tuple[str | int, ...], int], path: tuple[str | int, ...]) -> int | None:
    return next((lines[path[:k]] for k in range(len(path), 0, -1) if path[:k] in lines), None)
