"""Which resource to add: controlling chains propose, simulation on common draws disposes."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from towerpace.answers.choice.compare import in_days
from towerpace.answers.choice.lab import Lab, counts_of
from towerpace.answers.choice.paired import (
    Difference,
    paired_difference,
    percentile_difference,
    skewed_difference,
)
from towerpace.answers.choice.selection import Selection, select
from towerpace.answers.choice.stated import stated_setups
from towerpace.answers.cost import PARTS
from towerpace.answers.estimates import LATER
from towerpace.answers.said.people import share
from towerpace.answers.why.explain import ExplanationDetail, explain
from towerpace.draws import stream
from towerpace.plan.site.tower import Tower
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import PanelTrade
from towerpace.scenario.setups import SetUp, base_of, changed, flattened
from towerpace.units import DAY_MIN, Floats, Ints

FIRST = 20  # trials before anything is dropped, and those whose chains propose
PAIRS = 8
BEYOND = "some trials end beyond the horizon"


@dataclass(frozen=True)
class Option:
    """Something that could be added or taken away, and the set-up it makes.

    resource, change : what is added to, and by how much; of a candidate its name, and the keys it changes.
    is_candidate : whether it is a [candidate.NAME] of the scenario. note : what the scenario says of it.
    """

    resource: str
    change: str
    setup: SetUp
    is_candidate: bool = False
    note: str = ""

    @property
    def name(self) -> str:
        """What people call it."""
        return self.resource if self.is_candidate else f"{self.resource} {self.change}"


@dataclass(frozen=True)
class Ranked:
    """What an option buys against what it is added to.

    days : of the finish, negative is earlier; p80_days : of its P80; money : of the cost; None where unknown.
    verdict : in words. trials : spent on it.
    """

    option: Option
    days: Difference | None
    p80_days: Difference | None
    money: Difference | None
    verdict: str
    trials: int


@dataclass(frozen=True)
class Stride:
    """One step of the path: what is added next, and what it buys over the step before."""

    ranked: Ranked
    finish_p80: int | None


@dataclass(frozen=True)
class AdviceDetail:
    """What to add first, and then.

    ranking : best first. path : additions one after the other, while they help. trials_used : in all;
    trials_equal : what the selections would have used had every option got as many as the longest.
    stopped : why the path ends. tower : as planned for the base. seed : of all trials.
    """

    base: SetUp
    tower: Tower
    seed: int
    ranking: tuple[Ranked, ...]
    path: tuple[Stride, ...]
    stopped: str
    trials_used: int
    trials_equal: int
    confidence: float
    zone_days: float


@dataclass(frozen=True)
class Rules:
    """How the search decides.

    zone_days : difference of the finish that matters. [d] confidence : that the first named is the best.
    most : trials of one set-up at the most. steps : additions of the path at the most.
    """

    zone_days: float = 2.0
    confidence: float = 0.95
    most: int = 400
    steps: int = 6


def add(
    scenario: Scenario,
    *,
    lab: Lab,
    seed: int,
    rules: Rules = Rules(),
    say: Callable[[str], None] = lambda _: None,
) -> AdviceDetail:
    """Rank every addition, then add the best again and again while it helps.

    say : told what is being tried. Raises `InputError` for what cannot be run.
    """
    base = base_of(scenario)
    say("plans of the candidates")
    lab.make_ready(scenario, stated_setups(scenario, list(scenario.settings.candidate)))
    say("controlling chains of the base")
    why = explain(scenario, trials=FIRST, seed=seed)
    options, idle = _waited_for(additions(base), why)
    say(f"{len(options)} additions")
    round_one = _round(base, options, lab=lab, seed=seed, rules=rules)
    less = _taken_away(base, lab=lab, seed=seed)
    ranking = [*round_one.ranked, *idle, *less]
    path, stopped, equal = _path(base, round_one, lab=lab, seed=seed, rules=rules, say=say)
    return AdviceDetail(
        base,
        why.ready.tower,
        seed,
        tuple(ranking),
        tuple(path),
        stopped,
        lab.spent + FIRST,
        equal + FIRST * (1 + len(less)),
        rules.confidence,
        rules.zone_days,
    )


def additions(base: SetUp) -> list[Option]:
    """One more of every resource, and every [candidate.NAME] of the scenario."""
    options = [
        _option(base, name, "+1", {f"resource.{name}.count": count + 1})
        for name, count in counts_of(base).items()
    ]
    for name, table in base.scenario.settings.candidate.items():
        changes = flattened(table)
        said = ", ".join(f"{key} = {_as_written(value)}" for key, value in changes.items())
        note = str(table.get("note", ""))
        options.append(replace(_option(base, name, said, changes), is_candidate=True, note=note))
    return options


def _as_written(value: object) -> str:
    """A value as it stands in a scenario file."""
    return json.dumps(value, ensure_ascii=False, default=str)


def _option(base: SetUp, resource: str, change: str, changes: Mapping[str, object]) -> Option:
    return Option(resource, change, changed(base.scenario, f"{resource} {change}", changes))


def _waited_for(options: list[Option], why: ExplanationDetail) -> tuple[list[Option], list[Ranked]]:
    """Options worth simulating; a unit of what nobody ever waits for changes no trial."""
    pools = {name: k for k, name in enumerate(why.ready.tower.plan.pools.names)}
    short = short_hours(why)
    worth, idle = [], []
    for option in options:
        positioned = (
            option.change == "+1" and why.ready.tower.plan.pools.moves[pools[option.resource]] is not None
        )
        if option.change != "+1" or positioned or short.get(option.resource, 0.0) > 0:
            worth.append(option)
        else:
            none = Difference(0.0, 0.0, 0.0, 0.0)
            idle.append(Ranked(option, none, none, None, f"nobody waits for it in {FIRST} trials", 0))
    return worth, idle


def short_hours(why: ExplanationDetail) -> dict[str, float]:
    """Hours in which somebody was short of each resource, mean of the chains' trials. [h]"""
    return dict(zip(why.ready.tower.plan.pools.names, why.short_h.tolist(), strict=True))


@dataclass(frozen=True)
class _Round:
    ranked: list[Ranked]
    equal: int


def _round(base: SetUp, options: list[Option], *, lab: Lab, seed: int, rules: Rules) -> _Round:
    """Select the best of the base and its options, and rank them all."""
    if not options:
        return _Round([], 0)
    setups = [base, *(option.setup for option in options)]

    def more(which: Iterable[int], a: int, b: int) -> Floats:
        finish, _ = lab.results([setups[i] for i in which], b)
        return _bounded(finish[:, a:b], base) / DAY_MIN

    selection = select(
        len(setups), more, zone=rules.zone_days, confidence=rules.confidence, first=FIRST, most=rules.most
    )
    ranked = [
        _ranked(k, setups, options, selection, lab=lab, seed=seed, rules=rules) for k in range(1, len(setups))
    ]
    ranked.sort(key=lambda r: np.inf if r.days is None else r.days.mean)
    return _Round(ranked, len(setups) * max(selection.runs))


def _bounded(finish: Ints, base: SetUp) -> Floats:
    """Finish in minutes; what lies beyond the horizon counts as the horizon, the least it can be."""
    horizon = base.scenario.settings.tower.horizon_days * DAY_MIN
    return np.where(finish == LATER, horizon, finish).astype(np.float64)


def _ranked(
    k: int,
    setups: list[SetUp],
    options: list[Option],
    selection: Selection,
    *,
    lab: Lab,
    seed: int,
    rules: Rules,
) -> Ranked:
    n = selection.runs[k]
    days, p80, money = difference(setups[k], setups[0], n, lab=lab, seed=seed)
    return Ranked(options[k - 1], days, p80, money, _verdict(k, selection, days, rules=rules), n)


def difference(
    own: SetUp, base: SetUp, n: int, *, lab: Lab, seed: int
) -> tuple[Difference | None, Difference | None, Difference | None]:
    """Days, days of the P80, and money of one set-up less another over n common trials."""
    finish, cost = lab.results([own, base], n)
    if np.any(finish == LATER):
        return None, None, None
    days = skewed_difference(*(finish / DAY_MIN), rng=stream(seed, 0, "bootstrap of the mean"))
    p80 = percentile_difference(finish[0], finish[1], 0.8, rng=stream(seed, 0, "bootstrap"))
    money = None
    if own.scenario.settings.cost is not None and base.scenario.settings.cost is not None:
        money = skewed_difference(*(cost / PARTS), rng=stream(seed, 0, "bootstrap of the cost"))
    return days, None if p80 is None else in_days(p80), money


def _verdict(k: int, selection: Selection, days: Difference | None, *, rules: Rules) -> str:
    if days is None:
        return BEYOND
    if days.low > 0:
        return "makes it later"
    if k == selection.best and days.high < 0:
        rivals = [i for i in range(1, len(selection.runs)) if i != k and _ties(selection, k, i, rules=rules)]
        if rivals or not selection.settled:
            return "first, but a tie within what matters" if rivals else "first so far: trials ran out"
        return f"{share(rules.confidence)} sure it is the best"
    if days.high < 0:
        return "helps"
    return "no gain" if days.high - days.low < 2 * rules.zone_days else "no gain shown"


def _ties(selection: Selection, i: int, j: int, *, rules: Rules) -> bool:
    """Whether two set-ups, over the trials they share, cannot be told apart by more than the zone."""
    n = min(selection.runs[i], selection.runs[j])
    gap = paired_difference(selection.values[j][:n], selection.values[i][:n])
    return gap.mean < rules.zone_days and gap.low < rules.zone_days / 2


def _taken_away(base: SetUp, *, lab: Lab, seed: int) -> list[Ranked]:
    """One unit less of everything that has more than one: what is idle?"""
    ranked = []
    least = _least_needed(base)
    for name, count in counts_of(base).items():
        if count - 1 < max(1, least.get(name, 1)):
            continue
        option = _option(base, name, "-1", {f"resource.{name}.count": count - 1})
        days, p80, money = difference(option.setup, base, FIRST, lab=lab, seed=seed)
        verdict = "idle: one less costs nothing" if days is not None and days.high <= 0.25 else "needed"
        ranked.append(Ranked(option, days, p80, money, verdict, FIRST))
    return ranked


def _least_needed(base: SetUp) -> dict[str, int]:
    """Units of every resource that some job takes at once: with fewer it could never be done."""
    settings = base.scenario.settings
    jobs = [task.needs for task in (*settings.trade.values(), *settings.activity.values())]
    if settings.water_test is not None:
        jobs.append(settings.water_test.needs)
    if settings.delivery is not None:
        jobs.append(settings.delivery.unload_needs)
    if settings.crane is not None:
        jobs.append(settings.crane.level_move_needs)
    least: dict[str, int] = {}
    for needs in jobs:
        for name, count in needs.items():
            least[name] = max(least.get(name, 0), count)
    return least


def _path(
    base: SetUp, first: _Round, *, lab: Lab, seed: int, rules: Rules, say: Callable[[str], None]
) -> tuple[list[Stride], str, int]:
    """Add the best, then the best to that, with pairs where nothing helps alone."""
    path: list[Stride] = []
    at, current, equal = base, first, first.equal
    while len(path) < rules.steps:
        best = _that_helps(current.ranked, rules)
        if best is None:
            pairs = _pairs(at, current.ranked)
            say(f"step {len(path) + 1}: nothing helps alone, {len(pairs)} pairs")
            both = _round(at, pairs, lab=lab, seed=seed, rules=rules)
            equal += both.equal
            best = _that_helps(both.ranked, rules)
        if best is None:
            return path, f"of those tried, no further addition gains {days_in_words(rules.zone_days)}", equal
        at = best.option.setup
        path.append(Stride(best, _p80(at, best.trials, lab=lab)))
        say(f"step {len(path) + 1}: with {best.option.name}")
        current = _round(at, additions(at), lab=lab, seed=seed, rules=rules)
        equal += current.equal
    return path, f"no more than {rules.steps} additions were asked for", equal


def days_in_words(days: float) -> str:
    """Days of the finish in a sentence.

    >>> [days_in_words(days) for days in (1, 2, 0.4)]
    ['a day', '2 days', '0.4 days']
    """
    return "a day" if days == 1 else f"{days:g} days"


def _that_helps(ranked: list[Ranked], rules: Rules) -> Ranked | None:
    """The first whose gain is sure and matters."""
    best = ranked[0] if ranked else None
    if best is None or best.days is None or best.days.high >= 0 or best.days.mean > -rules.zone_days:
        return None
    return best


def _pairs(at: SetUp, ranked: list[Ranked]) -> list[Option]:
    """Pairs of units that some step needs together, then pairs of the options that gained most."""
    together = [tuple(sorted(pair)) for pair in _needed_together(at)]
    singles = [r.option.resource for r in ranked if r.option.change == "+1"]
    pairs = dict.fromkeys([*together, *(tuple(sorted(p)) for p in combinations(singles[:4], 2))])
    counts = counts_of(at)
    return [
        _option(at, f"{a} and {b}", "+1 each", {f"resource.{x}.count": counts[x] + 1 for x in (a, b)})
        for a, b in list(pairs)[:PAIRS]
        if a in counts and b in counts
    ]


def _needed_together(at: SetUp) -> list[tuple[str, str]]:
    settings = at.scenario.settings
    pairs: list[tuple[str, str]] = []
    for trade in settings.trade.values():
        names = list(trade.needs)
        if isinstance(trade, PanelTrade) and settings.crane is not None:
            names.append(settings.crane.resource)
            if settings.hoist is not None:
                pairs.append((settings.crane.resource, settings.hoist.resource))
        pairs += combinations(names, 2)
    return pairs


def _p80(setup: SetUp, n: int, *, lab: Lab) -> int | None:
    finish = np.sort(lab.results([setup], n)[0][0])
    value = int(finish[max(1, int(np.ceil(0.8 * n - 1e-9))) - 1])
    return None if value == LATER else value
