"""A number with its interval."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Estimate:
    """A number and its 95 % interval."""

    value: float
    low: float
    high: float
