"""One table of what each source of spread does to the finish, counted in three ways, and why they differ."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from enum import Enum

import numpy as np

from towerpace.answers.bid.sources_of_spread import WEATHER, sources_of, without, without_weather
from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.choice.paired import Difference, paired_difference
from towerpace.answers.estimates import LATER
from towerpace.answers.prepare import Prepared
from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.tables import Column, Row, Table, interval
from towerpace.trials.job import Job
from towerpace.trials.run import played
from towerpace.units import DAY_MIN, Floats, Ints

LEAST_D = 0.5  # what is less is told as nothing


class Why(Enum):
    """How the three numbers of a source stand to each other, and what that means."""

    NOT_PLAYED = "not removed here"
    NOTHING = "moves no trial"
    UNCLEAR = "too little for so many trials to tell"
    AGREES = "the finish gains what the chain shows"
    OTHER_CHAIN = "without it another chain holds the finish, so less is gained than the chain shows"
    RESOURCES = "its work also holds resources that the chain waits for, so more is gained"
    ELSEWHERE = "without it other work meets other dates, weather and queues, so more is gained"


@dataclass(frozen=True)
class Reconciled:
    """A source counted in three ways; removed is None where it was not played. [d]"""

    source: str
    chain: float
    resources: float
    removed: Difference | None

    @property
    def why(self) -> Why:
        """Why the three differ."""
        if self.removed is None:
            return Why.NOT_PLAYED
        if self.removed.mean == self.removed.sd == 0:
            return Why.NOTHING
        low, high = self.removed.low, self.removed.high
        if low <= 0 <= high and abs(self.chain) < LEAST_D:
            return Why.UNCLEAR
        if low <= self.chain <= high or abs(self.removed.mean - self.chain) < LEAST_D:
            return Why.AGREES
        if self.chain > high:
            return Why.OTHER_CHAIN
        return Why.RESOURCES if self.chain + self.resources >= low else Why.ELSEWHERE


RECONCILED = Table(
    "reconciled",
    "What each source does to the finish, counted in three ways, in days",
    (
        Column("source", Kind.TEXT, " ", about="source of spread"),
        Column(
            "chain_days",
            Kind.DAYS,
            "on the chain",
            about="days that it adds to the controlling chain, over what the chain takes without it",
            digits=1,
        ),
        Column(
            "resource_days",
            Kind.DAYS,
            "resources",
            about="days for which its work off the chain holds the resource of the chain it burdens most",
            digits=1,
        ),
        Column(
            "removed_mean_days",
            Kind.DAYS,
            "if removed",
            about="days that the mean finish gains without it, on the same draws",
            digits=1,
            blank="not played",
        ),
        *interval("removed_mean_days", Kind.DAYS, about="end of its 95 % interval", digits=1),
        Column("why", Kind.TEXT, "why they differ", about="how the three stand to each other"),
    ),
    about="each source on the controlling chain, through resources off the chain, and by paired removal",
    note="Days over the plan, average of all trials, nights and closed days with the shift hours they belong "
    "to. On the chain: steps done only because of the source in whole, others by what they last longer. "
    "Weather: hours stopped, and removed in whole, not to what was recorded.",
)


def reconciled_table(rows: Sequence[Reconciled], *, trials: int = 0) -> Table:
    """The table of some sources. trials : that it would take to remove each, where they were not played."""
    note = RECONCILED.note
    if trials:
        note += f" To have each removed ask for removals (--removals): {trials:,} trials more."
    return RECONCILED.filled(map(_row, sorted(rows, key=_order)), note=note)


def _order(row: Reconciled) -> float:
    return -(row.chain if row.removed is None else row.removed.mean)


def _row(row: Reconciled) -> Row:
    removed = row.removed
    ends = (None, None, None) if removed is None else (removed.mean, removed.low, removed.high)
    return row.source, row.chain, row.resources, *ends, row.why.value


def reconciled(
    sources: Sequence[str],
    *,
    chain: Floats,
    resources: Floats,
    removed: Mapping[str, Difference | None],
) -> list[Reconciled]:
    """Each source with its three numbers. chain, resources : mean of the finished trials, (n,). [d]"""
    return [
        Reconciled(source, float(on), float(off), removed.get(source))
        for source, on, off in zip(sources, chain, resources, strict=True)
    ]


def removal_trials(ready: Prepared, *, trials: int) -> int:
    """Trials that removing every source takes."""
    return trials * len(sources_of(ready))


def removals(
    ready: Prepared,
    finish: Ints,
    *,
    seed: int,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Iterator[tuple[str, Difference | None]]:
    """Each source, and what the mean finish gains without it; weather is removed in whole.

    finish : (n,) of the trials of this seed, LATER beyond the horizon. [min]
    """
    for source in sources_of(ready):
        chooser = without_weather(ready) if source == WEATHER else without(ready, [source])
        job = Job(chooser, FinishMeasure(None), seed)
        off = played(job, trials=len(finish), executor=executor, on_done=on_done).values["finish"]
        known = len(off) > 1 and not np.any((finish == LATER) | (off == LATER))
        yield source, paired_difference(finish / DAY_MIN, off / DAY_MIN) if known else None
