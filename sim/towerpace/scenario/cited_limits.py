"""Limits that cite a published one by its key: the record fills in what the scenario leaves unsaid.

What the scenario says itself governs. Nothing is guessed: where a source does not say whether it means gusts
or means, the scenario must; a source that allows either is read as gusts, the stricter.
"""

from collections.abc import Iterator

from towerpace.faults import nearest_word
from towerpace.scenario.complaints import Complaint, listed, shown
from towerpace.scenario.published_limits import PublishedLimit, published_limits
from towerpace.scenario.raw import Tree, named
from towerpace.scenario.schema import LIMIT_VARIABLES

_KINDS = {"gust": "gust", "mean": "mean", "gust or mean": "gust"}


def cite_limits(tree: Tree) -> Iterator[Complaint]:
    """Fill cited limits into a raw scenario, in place; complaints about keys that cannot be cited."""
    library = published_limits()
    for name, limit in named(tree, "limit"):
        key = limit.get("published")
        if key is None:
            continue
        record = library.get(key) if isinstance(key, str) else None
        if record is None:
            nearest = nearest_word(key, library) if isinstance(key, str) else None
            yield Complaint(("limit", name, "published"), shown(key), listed(library), nearest)
            continue
        value = _value(record)
        if value is None:
            allowed = f"a record with a number for the weather: {record.statement}"
            yield Complaint(("limit", name, "published"), shown(key), allowed)
            continue
        _fill(limit, record, *value)


def _value(record: PublishedLimit) -> tuple[str, float] | None:
    """Variable key and number of a record; None where it has none for the weather."""
    numbers = {
        "wind_above_m_s": record.wind_m_s,
        "temperature_below_degC": record.temperature_below_c,
        "temperature_above_degC": record.temperature_above_c,
    }
    return next(((key, round(value, 3)) for key, value in numbers.items() if value is not None), None)


def _fill(limit: Tree, record: PublishedLimit, variable: str, value: float) -> None:
    if not any(key in limit for key in LIMIT_VARIABLES):
        limit[variable] = value
    if variable == "wind_above_m_s" and record.kind in _KINDS:
        limit.setdefault("kind", _KINDS[record.kind])
    cited = f"{record.authority}, {record.section} ({record.printed}; {record.verified}). {record.caution}"
    limit["source"] = f"{limit['source']}; {cited}" if isinstance(limit.get("source"), str) else cited
