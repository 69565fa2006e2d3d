"""What some trials tell, as the page reads it: dates as text, what is not known as null."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from towerpace.answers.choice.compare_tables import may_differ
from towerpace.answers.choice.paired import paired_difference
from towerpace.answers.days import Days
from towerpace.answers.estimates import LATER, chance, interval_ranks, percentile
from towerpace.answers.progress import ranked
from towerpace.answers.said.people import day, number, share
from towerpace.scenario.schema import Contract
from towerpace.units import DAY_MIN, Ints

Json = dict[str, Any]
Arrays = Mapping[str, Ints]
FINISH_PS = (0.1, 0.5, 0.8, 0.9)


@dataclass(frozen=True)
class Names:
    """Names along the arrays of the trials; those of trades and of what happens once are of the changes.

    contracts : dates of the contract, by name.
    """

    levels: tuple[int, ...]
    zones: tuple[str, ...]
    trades: tuple[str, ...]
    once: tuple[str, ...]
    contracts: Mapping[str, Contract]


@cache
def trials_needed(p: float) -> int:
    """The fewest trials that give the p-quantile an interval.

    >>> [trials_needed(p) for p in (0.5, 0.8, 0.9)]
    [6, 17, 36]
    """
    n = 1
    while interval_ranks(n, p) is None:
        n += 1
    return n


def answer_of(own: Arrays, file: Arrays, *, days: Days, names: Names, asked: int, is_changed: bool) -> Json:
    """An answer over the trials that both have.

    own, file : from `PageReader`, (n, ...). is_changed : whether own are of a changed scenario.
    """
    told = _Told(days)
    n = len(own["finish"])
    difference = told.difference(own["finish"], file["finish"])
    earlier = chance(own["finish"] < file["finish"])
    return {
        "n": n,
        "upto": asked,
        "final": n >= asked,
        "headline": told.headline(own["finish"]),
        "lines": [
            *(told.against(own["finish"], file["finish"]) if is_changed else ()),
            *told.lines(n, asked=asked),
        ],
        "finish": told.finish(own["finish"]),
        "file_finish": told.finish(file["finish"]),
        "mean_days": difference,
        "earlier_share": earlier.value,
        "ticks": {"file": told.dates(file["finish"]), "now": told.dates(own["finish"])},
        "levels": list(told.levels(own, file, names.levels)),
        "fronts": list(told.fronts(own, names)),
        "trades": told.trades(own, names),
        "once": told.once(own, names),
        "contracts": list(told.contracts(own, file, names)),
    }


def span_of(finish: Ints, days: Days) -> Json:
    """First and last date of the axis: from the start to a tenth beyond the P90 of the file's finish."""
    known = finish[finish != LATER]
    last = int(ranked(known, 0.9)) if len(known) else DAY_MIN
    return {"from": days.start.isoformat(), "to": days.date_of(last + last // 10).isoformat()}


class _Told:
    """Arrays of one project in words and dates."""

    def __init__(self, days: Days) -> None:
        self._days = days

    def date(self, minute: int | None) -> str | None:
        if minute is None or minute == LATER:
            return None
        return self._days.date_of(int(minute)).isoformat()

    def dates(self, minutes: Ints) -> list[str | None]:
        return [self.date(int(minute)) for minute in minutes]

    def finish(self, finish: Ints) -> Json:
        said = {}
        for p in FINISH_PS:
            at, needed = percentile(finish, p), trials_needed(p)
            ends = (at.low, at.high) if at.bounded else (None, None)
            low, high = (self.date(end) for end in ends)
            needs = None if len(finish) >= needed else needed
            said[f"p{round(100 * p)}"] = {
                "date": self.date(at.value),
                "low": low,
                "high": high,
                "needs": needs,
            }
        return said

    def difference(self, own: Ints, file: Ints) -> Json | None:
        """Mean paired difference with its interval [d]; None where a trial ends beyond the horizon."""
        if len(own) < 2 or np.any((own == LATER) | (file == LATER)):
            return None
        found = paired_difference(own / DAY_MIN, file / DAY_MIN)
        return {"value": found.mean, "low": found.low, "high": found.high}

    def headline(self, finish: Ints) -> str:
        half, most = (percentile(finish, p).value for p in (0.5, 0.8))
        if half is None:
            return "Fewer than half of the trials finish before the last day that is played."
        first = f"Half of the trials finish by {self._day(half)}"
        if most is None:
            return f"{first}, fewer than four in five before the last day that is played."
        return f"{first}, four in five by {self._day(most)}."

    def lines(self, n: int, *, asked: int) -> Iterator[str]:
        yield f"{n:,} of {asked:,} trials, on the same draws as the file's."
        lacking = [p for p in FINISH_PS if trials_needed(p) > n]
        for needed in sorted({trials_needed(p) for p in lacking}):
            which = [f"P{round(100 * p)}" for p in lacking if trials_needed(p) == needed]
            verb = "needs" if len(which) == 1 else "need"
            yield f"The interval of {' and '.join(which)} {verb} {needed} trials."

    def against(self, own: Ints, file: Ints) -> Iterator[str]:
        if np.array_equal(own, file):
            yield f"No trial finishes on another day than with the file: {may_differ(len(own))}."
            return
        found = self.difference(own, file)
        if found is None:
            yield "Some trials end after the last day that is played: no mean difference is known."
            return
        mean, low, high = (number(found[key], digits=1, signed=True) for key in ("value", "low", "high"))
        earlier = share(chance(own < file).value)
        said = f"Against the file: {mean} days on average ({low} to {high})"
        yield f"{said}, earlier in {earlier} of the trials."

    def _day(self, minute: int) -> str:
        return day(self._days.date_of(minute))

    def levels(self, own: Arrays, file: Arrays, levels: Sequence[int]) -> Iterator[Json]:
        now, then = own["closing_in"], file["closing_in"]
        for floor, level in enumerate(levels):
            yield {
                "level": level,
                "file": self._band(then[:, floor]),
                "now": self._band(now[:, floor]),
                "days": self.difference(now[:, floor], then[:, floor]),
            }

    def _band(self, minutes: Ints) -> Json:
        return {f"p{round(100 * p)}": self.date(int(ranked(minutes, p))) for p in (0.5, 0.8)}

    def fronts(self, own: Arrays, names: Names) -> Iterator[Json]:
        done = ranked(own["fronts"], 0.5)
        for floor, level in enumerate(names.levels):
            for across, zone in enumerate(names.zones):
                yield {"level": level, "zone": zone, "done": self.date(int(done[floor, across]))}

    def trades(self, own: Arrays, names: Names) -> list[Json]:
        done = ranked(own["done"], 0.5)
        return [{"name": name, "p50": self.dates(done[k])} for k, name in enumerate(names.trades)]

    def once(self, own: Arrays, names: Names) -> list[Json]:
        if not names.once:
            return []
        begun, done = (ranked(own[name], 0.5) for name in ("once_begun", "once_done"))
        # The end of its first minute always lies on the day on which it begins.
        starts = [self.date(None if m == LATER else m + 1) for m in begun.tolist()]
        ends = self.dates(done)
        return [
            {"name": name, "start": start, "end": end}
            for name, start, end in zip(names.once, starts, ends, strict=True)
        ]

    def contracts(self, own: Arrays, file: Arrays, names: Names) -> Iterator[Json]:
        """Shares of the trials that meet each date of the contract, with those of the file."""
        for name, contract in names.contracts.items():
            shares = [self._met(arrays, contract, names) for arrays in (file, own)]
            due = {"name": name, "date": contract.date.isoformat(), "level": contract.level}
            yield {**due, "file": shares[0], "now": shares[1]}

    def _met(self, arrays: Arrays, contract: Contract, names: Names) -> float:
        when = arrays["finish"]
        if contract.level is not None:
            when = arrays["closing_in"][:, names.levels.index(contract.level)]
        return float(np.mean(when <= self._days.last_minute(contract.date)))
