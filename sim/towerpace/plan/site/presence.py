"""When the units of a resource are on the site: all alike, or single ones on days of their own."""

from __future__ import annotations

from collections.abc import Iterator

from towerpace.plan.site.numbers import Numbers
from towerpace.scenario.schema import Resource, UnitDates
from towerpace.units import DAY_MIN

Span = tuple[int, int | None]


def own_dates(resource: Resource, unit: int) -> UnitDates | None:
    """Days of a unit's own, if it has any. unit : 1, 2, ...; those with days of their own are the last."""
    last = resource.count
    for table in reversed(resource.unit):
        if last - table.units < unit <= last:
            return table
        last -= table.units
    return None


def alike(resource: Resource) -> int:
    """How many units keep to the days of the resource; they are the first."""
    return resource.count - sum(table.units for table in resource.unit)


def absences(numbers: Numbers, name: str, unit: int) -> list[Span]:
    """Spans [from, to) in which a unit is not there, ascending; None where it never comes back. [min]"""
    apart: list[Span] = []
    for gone, back in sorted(_absences(numbers, name, unit), key=lambda span: span[0]):
        before = apart[-1][1] if apart else 0
        if before is None:
            break
        if gone >= before:
            apart.append((gone, back))
        else:  # what the resource and the unit say of the same days is one absence
            apart[-1] = (apart[-1][0], None if back is None else max(before, back))
    return apart


def _absences(numbers: Numbers, name: str, unit: int) -> Iterator[Span]:
    resource = numbers.settings.resource[name]
    own = own_dates(resource, unit) or UnitDates()
    arrives, leaves = own.arrives or resource.arrives, own.leaves or resource.leaves
    if arrives is not None and arrives > numbers.settings.tower.start:
        yield 0, numbers.minute_of(arrives)
    for span in (*resource.away, *own.away):
        yield numbers.minute_of(span.from_), numbers.minute_of(span.to) + DAY_MIN
    if leaves is not None:
        yield numbers.minute_of(leaves), None
