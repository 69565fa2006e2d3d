"""Published limits of wind, cold and strength, as data to cite: none of them is "the" limit.

A scenario states its own limits, each with the authority that set it. This library spares a user the search
for what rules and standards have printed, and says how well each figure is known here. It decides nothing:
the maker's manual, the lift plan, local law and the person on site govern. In particular there is no general
numeric wind limit for cranes in United States federal law: 29 CFR 1926.1417(n) has a competent person adjust
for wind, ice and snow, and 1926.1435(b)(4)(iii) has the maker, or else a qualified person, set the speed for
erecting a tower crane. Tools that print "the federal 30 mph crane limit" misquote.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any, Literal

from towerpace.scenario.beaufort import least_speed_m_s

Kind = Literal["gust", "mean", "gust or mean", "unstated", "not wind"]
Quantity = Literal["wind above", "temperature below", "temperature above", "strength below", "no number"]
Verified = Literal["read in a reprint of the text", "read in a secondary page", "from memory"]

COMMON_CAUTION = (
    'One published figure among many, not "the" limit of any machine, load or site: the maker\'s manual, '
    "the lift plan, local law and the person on site govern. There is no general numeric wind limit for "
    "cranes in United States federal law."
)

_SPEED_M_S = {"m/s": 1.0, "mph": 0.44704, "km/h": 1 / 3.6, "kt": 1852 / 3600}
_FIELDS: dict[Quantity, str] = {
    "wind above": "wind_m_s",
    "temperature below": "temperature_below_c",
    "temperature above": "temperature_above_c",
    "strength below": "strength_share",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedLimit:
    """What one authority printed about one operation; of the four numbers at most one is set.

    key : name of the record. name, operation : in words.
    wind_m_s : wind above which the rule speaks. [m/s]
    temperature_below_c, temperature_above_c : temperature below or above which it speaks. [degC]
    strength_share : share of the specified strength of concrete below which it speaks. [-]
    printed : the figure as the source prints it; "no number" where the rule states none.
    kind, averaging_s : whether the wind is a gust or a mean and over what time, where stated. [s]
    measured_at : where the value is to be measured, "unstated" where the source does not say.
    authority, section : who printed it, and where.
    verified : how the figure is known here.
    statement : what the rule asks for, in our words. caution : what to mind before it is used.
    """

    key: str
    name: str
    operation: str
    printed: str
    kind: Kind
    measured_at: str
    authority: str
    section: str
    verified: Verified
    statement: str
    caution: str
    wind_m_s: float | None = None
    temperature_below_c: float | None = None
    temperature_above_c: float | None = None
    strength_share: float | None = None
    averaging_s: int | None = None


@lru_cache(maxsize=1)
def published_limits() -> dict[str, PublishedLimit]:
    """Every published limit by its key, in the order of the data file.

    >>> published_limits()["us_hoisting_personnel"].printed
    '20 mph'
    """
    text = files("towerpace.scenario").joinpath("published_limits.toml").read_text(encoding="utf-8")
    return {key: _limit(key, record) for key, record in tomllib.loads(text).items()}


def _limit(key: str, record: Mapping[str, Any]) -> PublishedLimit:
    words = {name: value for name, value in record.items() if name not in ("quantity", "value", "unit")}
    words["caution"] = f"{record['caution']} {COMMON_CAUTION}".strip()
    quantity: Quantity = record["quantity"]
    if quantity == "no number":
        return PublishedLimit(key=key, **words)
    words[_FIELDS[quantity]] = in_our_unit(record["value"], unit=record["unit"])
    return PublishedLimit(key=key, **words)


def in_our_unit(value: float, *, unit: str) -> float:
    """A printed value in m/s, degC or as a share.

    unit : "m/s", "mph", "km/h", "kt", "Beaufort", "degC", "degF" or "%".

    Raises `ValueError` for another unit.

    Notes
    -----
    1 mph = 0.44704 m/s and 1 kt = 1852/3600 m/s exactly; a Beaufort number begins at its least mean speed.

    >>> round(in_our_unit(38, unit="mph"), 4)
    16.9875
    """
    if unit in _SPEED_M_S:
        return value * _SPEED_M_S[unit]
    if unit == "Beaufort":
        return least_speed_m_s(int(value))
    if unit == "degC":
        return float(value)
    if unit == "degF":
        return (value - 32) * 5 / 9
    if unit == "%":
        return value / 100
    raise ValueError(f"unit: must be one of {', '.join(_SPEED_M_S)}, Beaufort, degC, degF, %; got {unit!r}")
