"""One number of the scenario at a time, low and high, on the same draws: what a wrong estimate would do.

What is drawn once a trial, as a pace, is put at its P10 and its P90. What is drawn for many items, as the
minutes of every panel, is shifted so that the mean of the items stands at its own P10 and P90: panels spread
by their own chance, and never are all of them slow. Of what happens now and then, as late trucks and losses,
the number is chance too: all of them are moved at once, which overstates them, and the answer says of which.

Numbers that have no spread but decide much are moved by a stated step. A wind limit is moved by 1 m/s, never
above the maker's, and not upward at all where the scenario states no maker's limit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from towerpace.answers.choice.compare import in_days
from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.choice.paired import Difference, paired_difference, percentile_difference
from towerpace.answers.estimates import LATER
from towerpace.answers.prepare import Prepared, prepare
from towerpace.draws import stream
from towerpace.faults import InputError
from towerpace.scenario.complaints import dotted
from towerpace.scenario.fields import Table
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import Limit, Settings
from towerpace.scenario.setups import changed
from towerpace.scenario.spreads import Z90, Spread
from towerpace.trials.job import Job
from towerpace.trials.run import played
from towerpace.units import DAY_MIN, Ints

STEP_OF_SHARE = 0.1  # of the value
STEP_OF_CHANCE = 0.1
STEP_OF_WIND_M_S = 1.0
_NAMED_CHANGES = ("setup", "candidate", "decision")
# What would remain of a risk after a response: no trial of the scenario as it is draws it.
_NOT_DRAWN = ("chance_after", "delay_days_after", "factor_after")


@dataclass(frozen=True)
class Range:
    """A number of the scenario and how far it is moved.

    text : as the scenario states it. how : what low and high are. low, high : None where it must not go.
    remark : why it must not. shifted : spread that is moved as a whole, low and high then its mean; None for
    a number that takes the place of what is stated. items : drawn in a trial, None where that is chance too.
    """

    key: str
    text: str
    how: str
    low: float | None
    high: float | None
    remark: str = ""
    shifted: Spread | None = None
    items: float | None = 1.0

    def value_at(self, end: float) -> object:
        """What stands in the scenario at one end."""
        return end if self.shifted is None else self.shifted.shifted(end - self.shifted.mean()).stated()


@dataclass(frozen=True)
class Side:
    """The finish with the number at one end less the finish as it is. [d]

    None beyond the horizon. met : trials in which nothing at all changed.
    """

    value: float
    days: Difference | None
    p80_days: Difference | None
    same: int


@dataclass(frozen=True)
class Swing:
    """One number at both ends. low, high : None where it must not go, or was refused; see the remark."""

    range: Range
    low: Side | None
    high: Side | None
    remark: str

    @property
    def width(self) -> float:
        """Days from the earlier end to the later, the finish as it is among them. [d]"""
        means = [side.days.mean for side in (self.low, self.high) if side is not None and side.days]
        return max([0.0, *means]) - min([0.0, *means])

    @property
    def verdict(self) -> str:
        """Whether it moves the finish: "no effect" if no trial changed, "unclear" if the intervals hold 0."""
        sides = [side for side in (self.low, self.high) if side is not None]
        if all(side.days is not None and side.days.sd == 0 and side.days.mean == 0 for side in sides):
            return "no effect"
        clear = [side.days is None or side.days.low > 0 or side.days.high < 0 for side in sides]
        return "moves" if any(clear) else "unclear"


def spreads_of(settings: Settings) -> dict[str, Spread]:
    """Every uncertain number of a scenario by its dotted key."""
    return dict(_spreads(settings, ()))


def _spreads(value: object, path: tuple[str | int, ...]) -> Iterator[tuple[str, Spread]]:
    if isinstance(value, Spread):
        if value.kind != "constant":
            yield dotted(path), value
    elif isinstance(value, Table):
        for name, field in type(value).model_fields.items():
            if name not in _NOT_DRAWN and (path or name not in _NAMED_CHANGES):
                yield from _spreads(getattr(value, name), (*path, field.alias or name))
    elif isinstance(value, Mapping):
        for name, entry in value.items():
            yield from _spreads(entry, (*path, name))
    elif isinstance(value, tuple):
        for number, entry in enumerate(value):
            yield from _spreads(entry, (*path, number))


def items_of(ready: Prepared) -> dict[str, float]:
    """How many values a trial draws of each spread of which that is certain, by key.

    Those that remedies take, as the minutes of a panel that is remade, are not counted.
    """
    keys = {id(spread): key for key, spread in spreads_of(ready.scenario.settings).items()}
    counts: dict[str, float] = {}
    for law in ready.chooser.laws:
        for spread, items in law.drawn_for(ready.tower.plan):
            if id(spread) in keys:
                counts[keys[id(spread)]] = counts.get(keys[id(spread)], 0.0) + items
    return counts


def ranges_of(settings: Settings, items: Mapping[str, float] | None = None) -> list[Range]:
    """Everything that is moved, and how far.

    items : values drawn in a trial by key; what is not there is moved for all its items at once.
    """
    ranges = [_of_spread(key, spread, items) for key, spread in spreads_of(settings).items()]
    return [*ranges, *_numbers(settings), *_limits(settings)]


def _of_spread(key: str, spread: Spread, items: Mapping[str, float] | None) -> Range:
    n = None if items is None else items.get(key)
    if n is None or n < 2:
        low, high = (float(v) for v in spread.quantile(np.array([0.1, 0.9])))
        how = "its P10 and P90" if n is not None else "its P10 and P90, for all of them at once"
        return Range(key, spread.describe(), how, low, high, items=n)
    half = Z90 * spread.sd() / n**0.5
    how = f"P10 and P90 of the mean of {n:,.0f}"
    mean = spread.mean()
    return Range(key, spread.describe(), how, mean - half, mean + half, shifted=spread, items=n)


def _numbers(settings: Settings) -> Iterator[Range]:
    if settings.hoist is not None:
        share = float(settings.hoist.share)
        low, high = share * (1 - STEP_OF_SHARE), min(1.0, share * (1 + STEP_OF_SHARE))
        how = f"{100 * STEP_OF_SHARE:g} % of the value either way"
        yield Range("hoist.share", f"{share:g}", how, low, high if high > share else None)
    if settings.delivery is not None:
        chance = float(settings.delivery.late_chance)
        low, high = max(0.0, chance - STEP_OF_CHANCE), min(1.0, chance + STEP_OF_CHANCE)
        how = f"{100 * STEP_OF_CHANCE:g} points either way"
        ends = (low if low < chance else None, high if high > chance else None)
        yield Range("delivery.late_chance", f"{chance:g}", how, *ends)


def _limits(settings: Settings) -> Iterator[Range]:
    for name, limit in settings.limit.items():
        if limit.wind_above_m_s is not None:
            yield _limit(dotted(("limit", name, "wind_above_m_s")), limit)


def _limit(key: str, limit: Limit) -> Range:
    value, makers = float(limit.threshold), limit.maker_limit_m_s
    low = value - STEP_OF_WIND_M_S if value > STEP_OF_WIND_M_S else None
    how = f"{STEP_OF_WIND_M_S:g} m/s either way, never above the maker's limit"
    if makers is None:
        return Range(key, f"{value:g} m/s", how, low, None, "not raised: no maker's limit is stated")
    high = min(value + STEP_OF_WIND_M_S, float(makers))
    remark = "" if high > value else "not raised: it stands at the maker's limit"
    return Range(key, f"{value:g} m/s", how, low, high if high > value else None, remark)


def swing_trials(ranges: list[Range], *, trials: int) -> int:
    """Trials that the swings play at the most, those of the scenario as it is among them."""
    ends = sum((one.low is not None) + (one.high is not None) for one in ranges)
    return trials * (ends + 1)


def swings(
    scenario: Scenario,
    *,
    seed: int,
    trials: int,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
    on_key: Callable[[str], None] = lambda _: None,
) -> list[Swing]:
    """Every number at both ends, the one that moves the finish most first.

    on_key : told the key of each number before it is played.
    """

    def play(ready: Prepared) -> Ints:
        job = Job(ready.chooser, FinishMeasure(None), seed, one_of_many=True)
        return played(job, trials=trials, executor=executor, on_done=on_done).values["finish"]

    ready = prepare(scenario)
    base, found = play(ready), []
    for one in ranges_of(scenario.settings, items_of(ready)):
        on_key(one.key)
        sides, remarks = [], [one.remark]
        for end in (one.low, one.high):
            made = None if end is None else _set(scenario, one, end, remarks=remarks)
            side = None
            if made is not None and end is not None:
                side = _side(end, play(made), base, seed=seed)
            sides.append(side)
        found.append(Swing(one, sides[0], sides[1], "; ".join(r for r in remarks if r)))
    return sorted(found, key=lambda swing: (-swing.width, swing.range.key))


def _set(scenario: Scenario, moved: Range, value: float, *, remarks: list[str]) -> Prepared | None:
    """The scenario with one number moved; None with the reason if it could not be carried out."""
    try:
        return prepare(changed(scenario, moved.key, {moved.key: moved.value_at(value)}).scenario)
    except InputError as error:
        fault = error.faults[0]
        remarks.append(f"{value:.4g} refused: {fault.found}, allowed {fault.allowed}")
        return None


def _side(value: float, finish: Ints, base: Ints, *, seed: int) -> Side:
    same = int(np.count_nonzero(finish == base))
    if len(base) < 2:
        return Side(value, None, None, same)
    known = not np.any((finish == LATER) | (base == LATER))
    days = paired_difference(finish / DAY_MIN, base / DAY_MIN) if known else None
    most = percentile_difference(finish, base, 0.8, rng=stream(seed, 0, "bootstrap"))
    return Side(value, days, None if most is None else in_days(most), same)
