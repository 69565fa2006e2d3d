"""Shapes of elements: where their bottom lies, which way they face, how large one face is."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from towerpace.bring.extras import library
from towerpace.units import Floats

FLAT = 0.9  # a face whose normal points this much up or down has no compass direction
ALIKE = 0.99
SIDEWAYS = 0.1  # a face that looks past the middle of the plan at about a right angle is neither in nor out


@dataclass(frozen=True, slots=True)
class Shape:
    """Triangles of an element in the model's space.

    Parameters
    ----------
    bottom_m : float
        Lowest point. [m]
    middle : ndarray
        Middle of its box, shape (3,). [m]
    axis : ndarray
        Direction along which most of its surface faces, either way, shape (3,). [-]
    area_m2 : float
        The larger of its two faces along the axis. [m2]
    """

    bottom_m: float
    middle: Floats
    axis: Floats
    area_m2: float


def shapes_of(model: Any, elements: Sequence[Any], *, file: str) -> dict[int, Shape]:
    """Shapes by the element's number; an element without a shape of its own has those of its parts.

    Elements without any shape are not in it.
    """
    geom = library("ifcopenshell.geom", asked_by=file)
    parts = {element.id(): _with_shapes(element, file=file) for element in elements}
    wanted = {part.id(): part for of_one in parts.values() for part in of_one}
    triangles: dict[int, Floats] = {}
    if wanted:
        settings = geom.settings()
        settings.set("use-world-coords", True)
        shapes = geom.iterator(settings, model, 1, include=list(wanted.values()))
        if shapes.initialize():
            while True:
                shape = shapes.get()
                triangles[shape.id] = _triangles(shape.geometry)
                if not shapes.next():
                    break
    found = {}
    for number, of_one in parts.items():
        pieces = [triangles[part.id()] for part in of_one if len(triangles.get(part.id(), ()))]
        if pieces:
            found[number] = _shape(np.concatenate(pieces))
    return found


def azimuth_deg(shape: Shape, *, centre: Floats) -> float | None:
    """Direction of the face that looks away from a plan's centre, clockwise from the y axis. [degrees]

    None where the shape lies flat, or looks past the centre neither in nor out.

    centre : x and y, shape (2,). [m]
    """
    if abs(shape.axis[2]) > FLAT:
        return None
    facing = shape.axis[:2] / np.linalg.norm(shape.axis[:2])
    away = shape.middle[:2] - centre
    distance = float(np.linalg.norm(away))
    outward = float(facing @ away) / distance if distance else 0.0
    if abs(outward) < SIDEWAYS:
        return None
    x, y = facing * math.copysign(1.0, outward)
    # Rounded, so that a face due north is at 0 and not a hair below 360.
    return round(math.degrees(math.atan2(x, y)), 6) % 360


def position_deg(shape: Shape, *, centre: Floats) -> float | None:
    """Direction from a plan's centre to the middle of a shape, clockwise from the y axis. [degrees]

    None where it lies on the centre.
    """
    x, y = shape.middle[:2] - centre
    return round(math.degrees(math.atan2(x, y)), 6) % 360 if x or y else None


def plan_centre(shapes: Sequence[Shape]) -> Floats:
    """Middle of the extent of shapes in plan, shape (2,). [m]"""
    middles = np.array([shape.middle[:2] for shape in shapes])
    centre: Floats = (middles.min(axis=0) + middles.max(axis=0)) / 2
    return centre


def _with_shapes(element: Any, *, file: str) -> list[Any]:
    if element.Representation is not None:
        return [element]
    parts = library("ifcopenshell.util.element", asked_by=file).get_decomposition(element)
    return [part for part in parts if getattr(part, "Representation", None) is not None]


def _triangles(geometry: Any) -> Floats:
    """Corners of all triangles, shape (n_triangles, 3, 3). [m]"""
    corners = np.array(geometry.verts, dtype=np.float64).reshape(-1, 3)
    faces = np.array(geometry.faces, dtype=np.int64).reshape(-1, 3)
    return corners[faces]


def _shape(triangles: Floats) -> Shape:
    corners = triangles.reshape(-1, 3)
    doubled = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    area = np.linalg.norm(doubled, axis=1) / 2
    normal = doubled[area > 0] / (2 * area[area > 0, np.newaxis])
    area = area[area > 0]
    # The direction that most of the surface faces: the largest axis of the areas' second moment.
    _, axes = np.linalg.eigh((normal * area[:, np.newaxis]).T @ normal)
    along = normal @ axes[:, -1]
    face = max(area[along > ALIKE].sum(), area[along < -ALIKE].sum())
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    return Shape(float(corners[:, 2].min()), middle, axes[:, -1], float(face))
