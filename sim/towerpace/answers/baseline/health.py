"""Whether a baseline is sound: open ends, waits between work, dates that force, float."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from towerpace.answers.baseline.baseline import Baseline
from towerpace.answers.baseline.items import FRONTS, MILESTONES
from towerpace.answers.baseline.logic import PART
from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.tables import Column, Row, Table
from towerpace.plan.site.fronts import CURING

LONG_FLOAT_D = 44  # two months of working days: common practice, no source
_NAMED = 3
HEALTH = Table(
    "health",
    "Health of the logic",
    (
        Column("check", Kind.NAME, " ", about="what is looked at"),
        Column("count", Kind.COUNT, about="how many there are"),
        Column("of", Kind.COUNT, about="of so many"),
        Column("example", Kind.TEXT, "such as", about="the first of them"),
    ),
    about="open ends, links, waits, dates that force, and float",
    note="Milestones are no open ends. Float is the median's, along the links.",
)


def health_rows(base: Baseline) -> Iterator[Row]:
    """A row a check."""
    items = [k for k, item in enumerate(base.items) if item.kind != MILESTONES]
    fronts = [k for k in items if base.items[k].kind == FRONTS]
    after, before = {link.after for link in base.links}, {link.before for link in base.links}
    last = base.outcomes.values["done"].max(axis=0).max()
    yield _row(base, "nothing comes before", [k for k in items if k not in after], len(items))
    ends = [k for k in items if k not in before and base.outcomes.values["done"][:, k].max() < last]
    yield _row(base, "nothing waits for", ends, len(items))
    partly = [link.after for link in base.links if link.kind == PART]
    yield _row(base, "links kept step by step", partly, len(base.links))
    waits = np.count_nonzero(base.ready.tower.plan.by_tags(lambda tags: tags.kind == CURING))
    yield "waits between work (curing, drying, lags)", int(waits), None, None
    forced = base.outcomes.values["dated"].mean(axis=0)
    yield _row(base, "begins on a date in most trials", [k for k in items if forced[k] > 0.5], len(items))
    if len(base.floats):
        middle = np.median(base.floats, axis=0)
        yield _row(base, "work areas without float", [k for k in fronts if middle[k] <= 0], len(fronts))
        long = [k for k in fronts if middle[k] > LONG_FLOAT_D]
        yield _row(base, f"work areas with over {LONG_FLOAT_D} days of float", long, len(fronts))


def _row(base: Baseline, check: str, chosen: Sequence[int], of: int) -> Row:
    names = ", ".join(base.items[k].name for k in list(dict.fromkeys(chosen))[:_NAMED])
    return check, len(chosen), of, names or None
