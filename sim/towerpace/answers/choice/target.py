"""The cheapest set-up that meets a date with a stated confidence, and the frontier of cost against P80.

The lower end of the interval of its chance decides. Of many set-ups near the border some reach the confidence
in the trials by luck, and the cheapest that does so would too often be one of these.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import product

import numpy as np

from towerpace.answers.choice.add import FIRST
from towerpace.answers.choice.lab import Lab, counts_of
from towerpace.answers.cost import PARTS
from towerpace.answers.days import Days
from towerpace.answers.estimates import LATER, Chance, chance, percentile
from towerpace.answers.why.explain import ExplanationDetail, explain
from towerpace.plan.site.tower import Tower
from towerpace.scenario.lifted import lifted
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import PanelTrade
from towerpace.scenario.setups import SetUp, base_of, changed
from towerpace.units import DAY_MIN

MOST_ADDED = 2
WIDTH = 3  # resources in the grid: (MOST_ADDED + 1) ** WIDTH set-ups are played


@dataclass(frozen=True)
class Tried:
    """A set-up of the grid.

    added : units added by resource. cost : mean of a trial; None without costs or beyond the horizon.
    p80 : minute, None beyond the horizon. met : chance that the date is met.
    """

    setup: SetUp
    added: dict[str, int]
    cost: float | None
    p80: int | None
    met: Chance
    trials: int

    @property
    def name(self) -> str:
        """What people call it."""
        return ", ".join(f"{name} +{k}" for name, k in self.added.items()) or "nothing added"

    @property
    def units(self) -> int:
        """Units added."""
        return sum(self.added.values())


@dataclass(frozen=True)
class Reached:
    """What it takes to meet a date.

    tower : as planned for the base. seed : of all trials. grid : every set-up tried, cheapest first.
    frontier : those that no cheaper one beats at P80. cheapest : the cheapest that is shown to meet the date
    with the confidence, None if none is. perhaps : one cheaper still that meets it in so many of the trials,
    but is not shown to. trials : of each set-up. trials_used : in all. left : set-ups that were not played,
    as Ctrl-C ended the search.
    """

    scenario: Scenario
    tower: Tower
    seed: int
    date: date
    confidence: float
    resources: tuple[str, ...]
    grid: tuple[Tried, ...]
    frontier: tuple[Tried, ...]
    cheapest: Tried | None
    perhaps: Tried | None
    trials: int
    trials_used: int
    left: int = 0

    @property
    def too_few(self) -> bool:
        """Whether so few trials cannot show the confidence, whatever comes out."""
        return self.trials < trials_to_show(self.confidence)


def reach(
    scenario: Scenario,
    *,
    lab: Lab,
    seed: int,
    date: date,
    confidence: float,
    trials: int,
    say: Callable[[str], None] = lambda _: None,
) -> Reached:
    """Play the grid of the resources that hold the finish and pick the cheapest that meets the date.

    Ctrl-C keeps the set-ups that are finished. Raises `InputError` for what cannot be run, and
    `KeyboardInterrupt` if none is finished.
    """
    base = base_of(scenario)
    why = explain(scenario, trials=FIRST, seed=seed)
    resources = _binding(scenario, why)
    due = Days(scenario.settings).last_minute(date)
    tried: list[Tried] = []
    grid = list(product(range(MOST_ADDED + 1), repeat=len(resources)))
    try:
        for extra in grid:
            say(f"set-up {len(tried) + 1} of {len(grid)}")
            added = {name: n for name, n in zip(resources, extra, strict=True) if n}
            tried.append(_try(_with(base, added), added, lab=lab, due=due, trials=trials))
    except KeyboardInterrupt:
        if not tried:
            raise
    tried.sort(key=_price)
    cheapest, perhaps = chosen(tried, confidence=confidence)
    return Reached(
        scenario,
        why.ready.tower,
        seed,
        date,
        confidence,
        resources,
        tuple(tried),
        tuple(_frontier(tried)),
        cheapest,
        perhaps,
        trials,
        lab.spent + FIRST,
        len(grid) - len(tried),
    )


def chosen(cheapest_first: Sequence[Tried], *, confidence: float) -> tuple[Tried | None, Tried | None]:
    """The first set-up that is shown to meet the date with the confidence, and the first before it that may.

    Shown: the lower end of the 95 % interval reaches the confidence. May: the share of the trials does.
    """
    for place, tried in enumerate(cheapest_first):
        if tried.met.low >= confidence:
            return tried, _first_likely(cheapest_first[:place], confidence)
    return None, _first_likely(cheapest_first, confidence)


def _first_likely(cheapest_first: Sequence[Tried], confidence: float) -> Tried | None:
    return next((tried for tried in cheapest_first if tried.met.value >= confidence), None)


def trials_to_show(confidence: float, *, interval: float = 0.95) -> int:
    """Fewest trials that can show a confidence: as many as bring the lower end of n of n up to it.

    Notes
    -----
    The lower end of n of n is tail ** (1 / n), with tail = (1 - interval) / 2.
    Source: Clopper & Pearson (1934), Biometrika 26: 404-413 (from memory).

    >>> [trials_to_show(confidence) for confidence in (0.8, 0.9, 0.95)]
    [17, 36, 72]
    """
    return math.ceil(math.log((1 - interval) / 2) / math.log(confidence))


def _price(tried: Tried) -> tuple[float, int]:
    """Mean cost, unknown ones last, then units added; without costs the units alone."""
    if tried.setup.scenario.settings.cost is None:
        return 0.0, tried.units
    return np.inf if tried.cost is None else tried.cost, tried.units


def _binding(scenario: Scenario, why: ExplanationDetail) -> tuple[str, ...]:
    """The resources that held the finish longest in the chains of some trials, with those needed beside them.

    A crane is tried with its gang and the hoist that feeds it: alone neither may show anything.
    """
    names = list(why.ready.tower.plan.pools.names)
    counts = scenario.settings.resource
    held = {n: float(d) for n, d in zip(names, why.pool_days, strict=True) if n in counts and d > 0}
    order = sorted(held, key=lambda n: -held[n])
    for trade in scenario.settings.trade.values():
        if isinstance(trade, PanelTrade) and scenario.settings.crane and scenario.settings.hoist:
            order += [*trade.needs, scenario.settings.crane.resource, scenario.settings.hoist.resource]
    for panels in lifted(scenario.settings, scenario.levels):
        if panels.method is not None:
            order += scenario.settings.method[panels.method].needs
    return tuple(dict.fromkeys(order))[:WIDTH]


def _with(base: SetUp, added: dict[str, int]) -> SetUp:
    counts = counts_of(base)
    name = ", ".join(f"{n} +{k}" for n, k in added.items()) or base.name
    return changed(base.scenario, name, {f"resource.{n}.count": counts[n] + k for n, k in added.items()})


def _try(setup: SetUp, added: dict[str, int], *, lab: Lab, due: int, trials: int) -> Tried:
    finish, cost = (rows[0] for rows in lab.results([setup], trials))
    known = setup.scenario.settings.cost is not None and not np.any(cost == LATER)
    mean = float(cost.mean()) / PARTS if known else None
    return Tried(setup, added, mean, percentile(finish, 0.8).value, chance(finish <= due), trials)


def _frontier(cheapest_first: list[Tried]) -> list[Tried]:
    """Set-ups whose P80 falls on an earlier day than that of every cheaper one."""
    frontier: list[Tried] = []
    earliest = np.inf
    for tried in cheapest_first:
        if tried.p80 is not None and tried.p80 // DAY_MIN < earliest:
            earliest = tried.p80 // DAY_MIN
            frontier.append(tried)
    return frontier
