"""Names and shares as people read them."""

from __future__ import annotations


def words(name: str) -> str:
    """A name of the scenario file as words."""
    return name.replace("_", " ")


def whole_percent(share: float) -> str:
    """A share in per cent, never rounded to certainty."""
    if 0 < share < 0.005:
        return "under 1 %"
    if 0.995 < share < 1:
        return "over 99 %"
    return f"{100 * share:.0f} %"
