"""What towerpace sweep says of the quadratic surface of every response, in words and as JSON."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from math import isnan
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pandas import DataFrame

    from towerpace.answers.sweep.metamodel import Metamodel


def metamodels_data(frame: DataFrame, responses: Sequence[str]) -> dict[str, Any]:
    """The metamodel of every response, or why there is none."""
    from towerpace.answers.sweep.metamodel import metamodel_or_why

    found = {response: metamodel_or_why(frame, response) for response in responses}
    return {
        name: {"usable": False, "why_not": one} if isinstance(one, str) else one.as_data()
        for name, one in found.items()
    }


def metamodel_lines(frame: DataFrame, responses: Sequence[str], *, folder: Path) -> list[str]:
    """One line a response; what is true of all of them is said once."""
    from towerpace.answers.sweep.metamodel import metamodel_or_why

    units = _units(folder)
    lines = []
    for response in responses:
        found = metamodel_or_why(frame, response)
        if isinstance(found, str):
            lines.append(f"No quadratic surface: {found}.")
        else:
            lines.append(metamodel_text(found, units[response]))
    return list(dict.fromkeys(lines))


def metamodel_text(found: Metamodel, unit: str) -> str:
    """Whether a surface may be shown, and the numbers behind that."""
    from towerpace.answers.sweep.worth import brief

    worth, unit = found.worth, "" if unit == "-" else f" {unit}"
    said = "usable" if found.fits else f"not shown: {worth.why_not}"
    if found.fits and found.left_out:
        said += f", {found.left_out} points left out: beyond the horizon"
    noise = "" if isnan(worth.noise) else f", intervals of the points ±{brief(worth.noise)}{unit}"
    error = f"predictive R2 {worth.r2_text}, leave-one-out error {brief(worth.rms)}{unit}{noise}"
    return f"Quadratic surface of {found.response} {said} ({error})."


def _units(folder: Path) -> dict[str, str]:
    """Units of the responses, from the dictionary of the study."""
    from towerpace.answers.sweep.store import DICTIONARY

    with (folder / DICTIONARY).open(encoding="utf-8", newline="") as file:
        return {row["name"]: row["unit"] for row in csv.DictReader(file) if row["what"] == "response"}
