"""Rules on the keys of gang trades that depend on one another: classes of pieces, coats and their drying."""

from collections.abc import Iterator

from towerpace.scenario.complaints import MISSING, Complaint, Path, shown
from towerpace.scenario.raw import Tree, named, number_at

_UNITS = ("column", "unit_min")
_NEEDED = {"column": "text", "unit_min": "a number or a spread at least 0"}


def interior_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about gang trades that say too much or too little."""
    for name, trade in named(tree, "trade"):
        if trade.get("kind") == "gang":
            yield from _unit_rules(trade, path=("trade", name))
            yield from _coat_rules(trade, path=("trade", name))


def _unit_rules(trade: Tree, *, path: Path) -> Iterator[Complaint]:
    for key in _UNITS:
        if "classes" in trade and key in trade:
            yield Complaint((*path, key), shown(trade[key]), f"no {key} beside classes, which say it each")
        if "classes" not in trade and key not in trade:
            yield Complaint((*path, key), MISSING, _NEEDED[key])
    if trade.get("classes") == {}:
        yield Complaint((*path, "classes"), "an empty table", "at least one class of pieces")


def _coat_rules(trade: Tree, *, path: Path) -> Iterator[Complaint]:
    several = (number_at(trade, "coats") or 1) > 1
    if several and "drying_h" not in trade:
        yield Complaint((*path, "drying_h"), MISSING, "a number or a spread at least 0, between the coats")
    if not several and "drying_h" in trade:
        yield Complaint((*path, "drying_h"), shown(trade["drying_h"]), "drying_h only with coats above 1")
    if "drying_h" not in trade:
        for key in ("drying_cold_h", "drying_limits", "cold_months"):
            if key in trade:
                yield Complaint((*path, key), shown(trade[key]), f"{key} only with drying_h")
    elif ("drying_cold_h" in trade) != bool(trade.get("cold_months")):
        missing = "cold_months" if "drying_cold_h" in trade else "drying_cold_h"
        allowed = "both of drying_cold_h and cold_months, or neither"
        yield Complaint((*path, missing), MISSING, allowed)
