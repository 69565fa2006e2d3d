"""Which resource to add: controlling chains propose, common draws choose, fresh draws say what it gains.

What is chosen because its trials look best looks better in them than it is. So whatever is named is played
again under draws that had no part in the choice, and its gain is told from these alone. Units that come
together are judged by what each of them gains: a pair comes before a single unit only where its half gains
more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from towerpace.answers.choice.additions import (
    Option,
    WaitedFor,
    bundles,
    candidates,
    least_needed,
    singles,
    waited_for,
    with_units,
)
from towerpace.answers.choice.gain import difference, mean_days
from towerpace.answers.choice.lab import Lab, counts_of
from towerpace.answers.choice.paired import (
    Difference,
    paired_difference,
)
from towerpace.answers.choice.selection import Selection, select
from towerpace.answers.choice.stated import stated_setups
from towerpace.answers.estimates import LATER, Percentile, percentile
from towerpace.answers.said.people import share
from towerpace.answers.why.explain import explain
from towerpace.plan.site.tower import Tower
from towerpace.scenario.load import Scenario
from towerpace.scenario.setups import SetUp, base_of
from towerpace.units import DAY_MIN, Floats

FIRST = 20  # trials before anything is dropped, and those whose chains propose
SCREEN = 10  # trials in which several units together must do more than the best of their parts,
LITTLE = 10  # by this part of the days that matter
RIVALS = 3  # played again beside the first named, at the most
BEYOND = "some trials end beyond the horizon"
CUT_SHORT = "the search was interrupted"


@dataclass(frozen=True)
class Ranked:
    """What an option buys against what it is added to.

    days : of the finish, negative is earlier; p80_days : of its P80; money : of the cost; None where unknown.
    verdict : in words. trials : behind the differences. fresh : whether these trials had no part in a choice.
    """

    option: Option
    days: Difference | None
    p80_days: Difference | None
    money: Difference | None
    verdict: str
    trials: int
    fresh: bool = False


OnRanked = Callable[[Sequence[Ranked], int], None]


@dataclass(frozen=True)
class Stride:
    """One step of the path: what is added next, what it buys over the step before, and the P80 then. [min]"""

    ranked: Ranked
    p80: Percentile


@dataclass(frozen=True)
class AdviceDetail:
    """What to add first, and then.

    ranking : best first. path : additions one after the other, while they help. trials_used : in all;
    trials_equal : what the selections would have used had every option got as many as the longest.
    stopped : why the path ends. tower : as planned for the base. seed : of all trials. interrupted : whether
    Ctrl-C ended the search.
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
    interrupted: bool = False


@dataclass(frozen=True)
class Rules:
    """How the search decides.

    zone_days : difference of the finish that matters. [d] confidence : that the first named is the best.
    most : trials of one set-up at the most, in the choice and again under fresh draws. steps : additions of
    the path at the most.
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
    on_ranked: OnRanked = lambda *_: None,
) -> AdviceDetail:
    """Rank the additions, then add the best again and again while it helps.

    say : told what is being tried. on_ranked : told the ranking of the first round as it grows, best first,
    and how many options there are. Raises `InputError` for what cannot be run. Ctrl-C ends the search with
    what is known by then, and raises `KeyboardInterrupt` if that is nothing.
    """
    fresh = lab.fresh(after=rules.most)
    search = _Search(lab=lab, fresh=fresh, seed=seed, rules=rules, say=say, on_ranked=on_ranked)
    base = base_of(scenario)
    say("plans of the candidates")
    lab.make_ready(scenario, stated_setups(scenario, list(scenario.settings.candidate)))
    say("controlling chains of the base")
    why = explain(scenario, trials=FIRST, seed=seed)
    waited = waited_for(base, why)
    first, less, stopped = list[Ranked](), list[Ranked](), ""
    try:
        first = search.round(base, waited, candidates(base))
        less = _taken_away(base, lab=lab, seed=seed)
        stopped = search.path(first)
    except KeyboardInterrupt:
        first = first or search.so_far()
    return AdviceDetail(
        base,
        why.ready.tower,
        seed,
        (*first, *_idle(base, waited), *less),
        tuple(search.strides),
        stopped or CUT_SHORT,
        lab.spent + search.fresh.spent + FIRST + search.chains,
        search.equal + search.fresh.spent + FIRST * (1 + len(less)) + search.chains,
        rules.confidence,
        rules.zone_days,
        interrupted=not stopped,
    )


def _idle(base: SetUp, waited: WaitedFor) -> list[Ranked]:
    """One more of what nobody waits for: it changed none of the trials, and more is not known."""
    idle = [name for name in counts_of(base) if name not in waited.resources]
    said = f"no wait in {waited.trials} trials"
    none = Difference(0.0, 0.0, 0.0, 0.0)
    return [Ranked(with_units(base, {name: 1}), none, none, None, said, waited.trials) for name in idle]


class _Search:
    """Rounds of options, each chosen from on common draws and estimated on fresh ones.

    equal : trials that the rounds would have used had every option got as many as the longest.
    strides : the path so far. chains : trials played for controlling chains.
    """

    def __init__(
        self,
        *,
        lab: Lab,
        fresh: Lab,
        seed: int,
        rules: Rules,
        say: Callable[[str], None],
        on_ranked: OnRanked,
    ) -> None:
        self.lab, self.fresh, self.seed, self.rules, self.say = lab, fresh, seed, rules, say
        self._on_ranked, self._is_ranked = on_ranked, False
        self.equal = self.chains = 0
        self.strides: list[Stride] = []
        self._round: tuple[SetUp, Sequence[Option]] | None = None

    def so_far(self) -> list[Ranked]:
        """Options of a round that was cut short, over the trials that they share with what they change."""
        if self._round is None:
            raise KeyboardInterrupt
        at, _ = self._round
        ranked = [
            Ranked(option, *difference(option.setup, at, n, lab=self.lab, seed=self.seed), CUT_SHORT, n)
            for n, option in self._shared()
        ]
        if not ranked:
            raise KeyboardInterrupt
        return sorted(ranked, key=_a_unit_gains)

    def _shared(self) -> list[tuple[int, Option]]:
        """Options of the first round that have begun, and trials shared with what they change."""
        if self._round is None:
            return []
        at, options = self._round
        played = [(min(self.lab.played(at), self.lab.played(option.setup)), option) for option in options]
        return [(n, option) for n, option in played if n > 1]

    def _tell(self) -> None:
        """Tell the means of the first round so far, which cost next to nothing beside the playing."""
        if self._round is None or self._is_ranked:
            return
        at, options = self._round
        ranked = [
            Ranked(option, mean_days(option.setup, at, n, lab=self.lab), None, None, "", n)
            for n, option in self._shared()
        ]
        self._on_ranked(sorted(ranked, key=_a_unit_gains), len(options))

    def path(self, first: Sequence[Ranked]) -> str:
        """Add the best, then the best to that, as long as it helps; why the path ends."""
        path = self.strides
        ranked, rules = first, self.rules
        while len(path) < rules.steps:
            best = next(iter(ranked), None)
            if best is None or not (best.fresh and self._helps(best)):
                return f"of those tried, no further addition gains {days_in_words(rules.zone_days)}"
            at = best.option.setup
            finish, _ = self.fresh.results([at], rules.most)
            path.append(Stride(best, percentile(finish[0], 0.8)))
            if len(path) < rules.steps:
                self.say(f"step {len(path) + 1}: with {best.option.name}")
                why = explain(at.scenario, trials=FIRST, seed=self.seed)
                self.chains += FIRST
                ranked = self.round(at, waited_for(at, why), candidates(at))
        return f"no more than {rules.steps} additions were asked for"

    def round(self, at: SetUp, waited: WaitedFor, more: Iterable[Option]) -> list[Ranked]:
        """Every option at a set-up, the best first, and that one with its gain under fresh draws."""
        alone = [*singles(at, waited), *more]
        together = bundles(at, waited)
        self._round = self._round or (at, [*alone, *together])
        options = [*alone, *self._worth_more(at, alone, together)]
        if not options:
            return []
        self.say(f"{len(options)} additions")
        setups = [at, *(option.setup for option in options)]
        sizes = np.array([1, *(option.size for option in options)])

        def days_a_unit(which: Iterable[int], a: int, b: int) -> Floats:
            chosen = list(which)
            finish = self._days([at, *(setups[i] for i in chosen)], b)[:, a:b]
            days: Floats = (finish[1:] - finish[0]) / sizes[chosen, None]
            return days

        rules = self.rules
        selection = select(
            len(setups),
            days_a_unit,
            zone=rules.zone_days,
            confidence=rules.confidence,
            first=FIRST,
            most=rules.most,
        )
        self.equal += (1 + len(alone) + len(together)) * max(selection.runs)
        ranked = [self._ranked(k, at, options[k - 1], selection) for k in range(1, len(setups))]
        ranked.sort(key=_a_unit_gains)
        if not self._is_ranked:
            self._is_ranked = True
            self._on_ranked(ranked, len(options))
        first, *others = self._named_first(ranked, at)
        return [first, *sorted(others, key=lambda r: np.inf if r.days is None else r.days.mean)]

    def _days(self, setups: Sequence[SetUp], upto: int) -> Floats:
        """Finish of trials; what lies beyond the horizon counts as the horizon, the least it can be. [d]"""
        finish, _ = self.lab.results(setups, upto)
        horizon = setups[0].scenario.settings.tower.horizon_days * DAY_MIN
        self._tell()
        return np.where(finish == LATER, horizon, finish) / DAY_MIN

    def _worth_more(self, at: SetUp, alone: list[Option], together: list[Option]) -> list[Option]:
        """Of units added together those that do more than the best of their parts, in a few trials."""
        kept: list[Option] = []
        base = self._days([at], SCREEN)[0]
        gain_of = {
            id(o): float((base - self._days([o.setup], SCREEN)[0]).mean()) for o in [*alone, *together]
        }
        for option in sorted(together, key=lambda option: option.size):
            parts = [gain_of[id(part)] for part in [*alone, *kept] if option.holds(part)]
            if gain_of[id(option)] > max([0.0, *parts]) + self.rules.zone_days / LITTLE:
                kept.append(option)
        return kept

    def _ranked(self, k: int, at: SetUp, option: Option, selection: Selection) -> Ranked:
        n = selection.runs[k]
        days, p80, money = difference(option.setup, at, n, lab=self.lab, seed=self.seed)
        return Ranked(option, days, p80, money, self._verdict(days, n), n)

    def _verdict(self, days: Difference | None, n: int) -> str:
        if days is None:
            return BEYOND
        if days.sd == 0 and days.mean == 0:
            return f"same in {n} trials"
        if days.low > 0:
            return "makes it later"
        if days.high < 0:
            return "helps"
        return "no gain" if days.high - days.low < 2 * self.rules.zone_days else "no gain shown"

    def _helps(self, ranked: Ranked) -> bool:
        """Whether its gain is sure and matters."""
        days = ranked.days
        return days is not None and days.high < 0 and days.mean <= -self.rules.zone_days

    def _named_first(self, ranked: list[Ranked], at: SetUp) -> list[Ranked]:
        """The same with the first that helps at the head, told under fresh draws.

        Where fresh draws do not confirm what the choice promised, the next that helps is tried.
        """
        for _ in range(RIVALS):
            helping = next((r for r in ranked if self._helps(r) and not r.fresh), None)
            if helping is None:
                break
            rivals = [r for r in ranked if r is not helping and self._may_be_as_good(r, helping)][:RIVALS]
            told = self._told_anew(helping, rivals, at)
            ranked = [told, *(r for r in ranked if r is not helping)]
            if self._helps(told):
                break
            ranked = [*ranked[1:], told]
        return ranked

    def _may_be_as_good(self, other: Ranked, first: Ranked) -> bool:
        """Whether the trials of the choice leave it within what matters of the first named.

        What adds the first named and more is no rival of it.
        """
        if (
            other.days is None
            or first.days is None
            or other.days.high >= 0
            or other.option.holds(first.option)
        ):
            return False
        return other.days.low < first.days.mean + self.rules.zone_days

    def _told_anew(self, first: Ranked, rivals: Sequence[Ranked], at: SetUp) -> Ranked:
        """The first named under fresh draws; "best" only beside what it beats there by what matters."""
        n = self.rules.most
        days, p80, money = difference(first.option.setup, at, n, lab=self.fresh, seed=self.seed)
        told = replace(first, days=days, p80_days=p80, money=money, trials=n, fresh=True)
        if not self._helps(told):
            return replace(told, verdict="seemed to help: not so under fresh draws")
        as_good = [rival for rival in rivals if not self._beats(first.option, rival.option)]
        if as_good:
            return replace(told, verdict=f"one of the best {len(as_good) + 1}")
        return replace(told, verdict=f"{share(self.rules.confidence)} sure it is the best")

    def _beats(self, own: Option, other: Option) -> bool:
        """Whether it finishes earlier by what matters, surely so, under fresh draws."""
        finish, _ = self.fresh.results([own.setup, other.setup], self.rules.most)
        if np.any(finish == LATER):
            return False
        mine, others = finish / DAY_MIN
        gap = paired_difference(others, mine, confidence=2 * self.rules.confidence - 1)  # one-sided
        return gap.low > 0 and gap.mean >= self.rules.zone_days


def _a_unit_gains(ranked: Ranked) -> tuple[float, int]:
    """The best first: days of the finish by unit added, unknown ones last; of equal ones fewer units."""
    days = np.inf if ranked.days is None else ranked.days.mean / ranked.option.size
    return round(days, 6), ranked.option.size


def _taken_away(base: SetUp, *, lab: Lab, seed: int) -> list[Ranked]:
    """One unit less of everything that has more than one: what is idle?"""
    ranked = []
    least = least_needed(base)
    for name, count in counts_of(base).items():
        if count - 1 < max(1, least.get(name, 1)):
            continue
        option = with_units(base, {name: -1})
        days, p80, money = difference(option.setup, base, FIRST, lab=lab, seed=seed)
        idle = days is not None and days.high <= 0.25
        verdict = f"idle in {FIRST} trials" if idle else "needed"
        ranked.append(Ranked(option, days, p80, money, verdict, FIRST))
    return ranked


def days_in_words(days: float) -> str:
    """Days of the finish in a sentence.

    >>> [days_in_words(days) for days in (1, 2, 0.4)]
    ['a day', '2 days', '0.4 days']
    """
    return "a day" if days == 1 else f"{days:g} days"
