"""What ties the keys of a study file together, checked on the raw file.

What is of the wrong type is passed over here; the vocabulary finds it.
"""

import re
from collections.abc import Iterator

from towerpace.faults import nearest_word
from towerpace.scenario.changes import parse_key
from towerpace.scenario.complaints import Complaint, Path, RefusalError, listed, shown, unknown_name
from towerpace.scenario.raw import Tree, named, number_at, table, tables_in

# Columns that every table of results has.
RESERVED = (
    "point",
    "response",
    "value",
    "low",
    "high",
    "trials",
    "trial",
    "scenario_hash",
    "seed",
    "version",
)
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
_WAYS = "key with values, key with low and high, or replace with labels"


def study_rules(tree: Tree) -> list[Complaint]:
    """Every complaint about keys that do not go together."""
    complaints = [*_design(tree), *_trials(tree), *_same_keys(tree)]
    for name, factor in named(tree, "factor"):
        complaints += _factor(name, factor, design=str(table(tree, "study").get("design")))
    complaints += _points(tree)
    return complaints


def _design(tree: Tree) -> Iterator[Complaint]:
    head = table(tree, "study")
    design, points = head.get("design"), head.get("points")
    if design in ("latin", "sobol"):
        if points is None:
            yield Complaint(("study", "points"), "missing", f'the number of points of design = "{design}"')
        elif design == "sobol" and isinstance(points, int) and points > 0 and points & (points - 1):
            lower = 1 << (points.bit_length() - 1)
            allowed = f"a power of two, as {lower} or {2 * lower}: other numbers spoil the balance"
            yield Complaint(("study", "points"), str(points), allowed)
    elif design in ("grid", "list") and points is not None:
        yield Complaint(("study", "points"), shown(points), f'no such key with design = "{design}"')
    if design == "list" and not tree.get("point"):
        yield Complaint(("point",), "missing", 'tables [[point]] with design = "list"')
    if design in ("grid", "latin", "sobol") and tree.get("point"):
        yield Complaint(("point",), "tables [[point]]", 'design = "list" for them')


def _trials(tree: Tree) -> Iterator[Complaint]:
    head = table(tree, "study")
    if ("trials" in head) == ("p80_within_days" in head):
        found = "both" if "trials" in head else "missing"
        yield Complaint(("study", "trials"), found, "trials, or p80_within_days with most_trials")
    if ("p80_within_days" in head) != ("most_trials" in head):
        found = "missing" if "p80_within_days" in head else shown(head["most_trials"])
        yield Complaint(("study", "most_trials"), found, "most_trials beside p80_within_days, and only there")


def _same_keys(tree: Tree) -> Iterator[Complaint]:
    seen: dict[str, str] = {}
    for name, factor in named(tree, "factor"):
        for key in _keys(factor):
            if seen.setdefault(key, name) != name:
                path: Path = ("factor", name, "key" if "key" in factor else "replace")
                yield Complaint(path, shown(key), f"a key that no other factor sets; {seen[key]} does")


def _keys(factor: Tree) -> list[str]:
    replaced = [key for _, replacement in tables_in(factor, "replace") for key in replacement]
    key = factor.get("key")
    return list(dict.fromkeys([*replaced, *([key] if isinstance(key, str) else [])]))


def _factor(name: str, factor: Tree, *, design: str) -> Iterator[Complaint]:
    here: Path = ("factor", name)
    if not _NAME.fullmatch(name) or name in RESERVED:
        allowed = f"a name of letters, digits and _ that is none of {', '.join(RESERVED)}"
        yield Complaint(here, shown(name), allowed)
    for key in _keys(factor):
        try:
            parse_key(key)
        except RefusalError as refused:
            complaint = refused.complaints[0]
            yield Complaint(
                (*here, "key" if factor.get("key") == key else "replace"), shown(key), complaint.allowed
            )
    yield from _way(here, factor, design=design)
    yield from _labels(here, factor)
    yield from _range(here, factor, design=design)


def _way(here: Path, factor: Tree, *, design: str) -> Iterator[Complaint]:
    ways = [way for way in ("values", "low", "replace") if way in factor]
    if "low" not in factor and "high" in factor:
        ways.append("low")
    if len(ways) > 1:
        yield Complaint(here, " and ".join(ways), _WAYS)
    elif not ways and not (design == "list" and "key" in factor):
        yield Complaint(here, "missing values", _WAYS)
    if "replace" in factor and "key" in factor:
        yield Complaint((*here, "key"), shown(factor["key"]), "no key beside replace, which names its keys")
    if "replace" not in factor and "key" not in factor:
        yield Complaint((*here, "key"), "missing", "a key as resource.hoist.count")


def _labels(here: Path, factor: Tree) -> Iterator[Complaint]:
    way = "replace" if "replace" in factor else "values"
    entries = factor.get(way)
    if not isinstance(entries, list):
        return
    labels = factor.get("labels")
    tabular = way == "replace" or any(isinstance(entry, dict | list) for entry in entries)
    if labels is None:
        if tabular:
            yield Complaint((*here, "labels"), "missing", f"a list of {len(entries)} labels, one a value")
        else:
            yield from _plain_values((*here, "values"), entries)
    elif isinstance(labels, list):
        if len(labels) != len(entries):
            yield Complaint((*here, "labels"), f"{len(labels)} labels", f"{len(entries)}, one a value")
        if len({str(label) for label in labels}) < len(labels):
            yield Complaint((*here, "labels"), "a label twice", "each label once")


def _plain_values(path: Path, values: list[object]) -> Iterator[Complaint]:
    kinds = {float if type(value) is int else type(value) for value in values}
    if len(kinds) > 1:
        yield Complaint(
            path, "values of several types", "numbers only, texts only, truths only or dates only"
        )
    elif len(set(values)) < len(values):
        yield Complaint(path, "a value twice", "each value once")


def _range(here: Path, factor: Tree, *, design: str) -> Iterator[Complaint]:
    if "low" not in factor and "high" not in factor:
        if factor.get("integer"):
            yield Complaint((*here, "integer"), "true", "integer beside low and high only")
        return
    for end in ("low", "high"):
        if end not in factor:
            yield Complaint((*here, end), "missing", "both ends of the range")
    if design == "grid":
        yield Complaint((*here, "low"), "a range", 'values with design = "grid"; ranges with latin or sobol')
    low, high = number_at(factor, "low"), number_at(factor, "high")
    if low is None or high is None:
        return
    if low >= high:
        yield Complaint((*here, "high"), f"{high:g}", f"a number above low = {low:g}")
    if factor.get("integer") is True and (low % 1 or high % 1):
        yield Complaint((*here, "low"), f"{low:g} to {high:g}", "whole numbers with integer = true")


def _points(tree: Tree) -> Iterator[Complaint]:
    factors = dict(named(tree, "factor"))
    for path, point in tables_in(tree, "point"):
        for name, value in point.items():
            if name not in factors:
                yield unknown_name((*path, name), name, names=list(factors))
            else:
                yield from _point_value((*path, name), value, factor=factors[name])
        for name in factors:
            if name not in point and nearest_word(name, [key for key in point if key not in factors]) is None:
                yield Complaint((*path, name), "missing", "a value of every factor")


def _point_value(path: Path, value: object, *, factor: Tree) -> Iterator[Complaint]:
    choices = factor.get("labels", factor.get("values"))
    low, high = number_at(factor, "low"), number_at(factor, "high")
    if isinstance(choices, list) and value not in choices:
        nearest = nearest_word(value, map(str, choices)) if isinstance(value, str) else None
        yield Complaint(path, shown(value), listed(shown(choice) for choice in choices), nearest)
    elif low is not None and high is not None:
        whole = factor.get("integer") is True
        if not _inside(value, low=low, high=high, whole=whole):
            kind = "a whole number" if whole else "a number"
            yield Complaint(path, shown(value), f"{kind} from {low:g} to {high:g}")
    elif isinstance(value, dict | list):
        yield Complaint(path, shown(value), "a single value; tables need replace with labels")


def _inside(value: object, *, low: float, high: float, whole: bool) -> bool:
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return low <= value <= high and not (whole and value % 1)
