"""A choice as an answer: what to do, what it costs and gains, what is shown of it, what would change it."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from dataclasses import replace

from towerpace.answers import methods
from towerpace.answers.cautions import hours_cautions, limits_cautions
from towerpace.answers.choice.differences import PAIRED
from towerpace.answers.choice.paired import Difference
from towerpace.answers.choose.choice import ChoiceDetail
from towerpace.answers.choose.choice_tables import choice_tables, step_in_words
from towerpace.answers.choose.goal import P80, Goal, Sample
from towerpace.answers.choose.names import kept_names
from towerpace.answers.choose.proof import NARROW
from towerpace.answers.choose.trade_off import KEPT, OnCurve
from towerpace.answers.choose.verdicts import matters_little
from towerpace.answers.days import Days
from towerpace.answers.estimates import BEYOND, chance
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer, Method
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day, number, share
from towerpace.answers.said.tables import Chapter, Column, Fact
from towerpace.scenario.changes import parse_key
from towerpace.scenario.decisions import AS_FILE

CHOICE_FIGURES = ("trade_off",)
PROCEDURE = Method(
    "Every single change, pairs and changes at random are played on common draws and the worst rejected one "
    "by one. From the best, new set-ups are taken at random out of those nearer to it than to any other "
    "played, until all its neighbours are known; trials go where they tell most of which is the best; what "
    "they leave races at the end. What is chosen is then held against its neighbours under fresh draws.",
    "J.-Y. Audibert, S. Bubeck & R. Munos (2010), Best arm identification in multi-armed bandits, COLT; "
    "L. J. Hong & B. L. Nelson (2006), Discrete optimization via simulation using COMPASS, Operations "
    "Research 54: 115-129; C.-H. Chen et al. (2000), Simulation budget allocation for further enhancing the "
    "efficiency of ordinal optimization, Discrete Event Dynamic Systems 10: 251-270; S.-H. Kim & B. L. "
    "Nelson (2001), A fully sequential procedure for indifference-zone selection in simulation, ACM "
    "Transactions on Modeling and Computer Simulation 11: 251-273 (all from memory).",
)


def said(detail: ChoiceDetail) -> Answer:
    """A choice, as everybody gets it."""
    opened, goal = detail.opened, detail.asked.goal
    answer = _trade_off(detail) if goal is None else _choice(detail, goal)
    scenario = opened.scenario
    chosen = () if detail.chosen is None else (detail.chosen,)
    return Answer(
        question="choose",
        about="What to decide",
        run=run_of(scenario, detail.ready.tower, seed=detail.asked.seed, trials=detail.spent),
        said=answer,
        facts=_facts(detail),
        tables=choice_tables(detail),
        chapters=_chapters(detail, answer),
        methods=[*methods.of_trials(scenario), methods.COMMON_DRAWS, PROCEDURE, PAIRED, methods.RANKS],
        cautions=[
            *_left_out(detail),
            *_free(detail),
            *hours_cautions(scenario, [setup.scenario for setup in (*chosen, *detail.shown)]),
            *limits_cautions(scenario.settings),
        ],
        figures=CHOICE_FIGURES if detail.curve else (),
    )


def _chapters(detail: ChoiceDetail, answer: str) -> list[Chapter]:
    chapters = [
        Chapter("What to decide", [answer], on=On.TERMINAL),  # at the head of a page anyhow
        Chapter("Decisions", shows=("decisions",)),
    ]
    if detail.neighbours:
        chapters.append(Chapter("Which decisions matter", list(_matters(detail)), shows=("neighbours",)))
    if detail.turns:
        chapters.append(Chapter("What would change the choice", [TURNED], shows=("turns",)))
    if detail.curve:
        chapters.append(Chapter("What a date costs", list(_kept_means(detail)), shows=("trade_off",)))
    chapters.append(Chapter("How it was found", [_found(detail)], shows=("tried",)))
    if to_know := list(_to_know(detail)):
        chapters.append(Chapter("What to know first", to_know))
    return chapters


def _left_out(detail: ChoiceDetail) -> Iterator[str]:
    for name, raised in detail.opened.left_out:
        yield f"'{name}' is not decided about, as it raises a wind limit ({raised}): that buys no date."


def _free(detail: ChoiceDetail) -> Iterator[str]:
    """Resources that are decided about and cost nothing: more of them looks better than it is."""
    resources = detail.opened.scenario.settings.resource
    decided = {parse_key(key) for one in detail.opened.decided for key in one.keys}
    free = [
        name
        for name, resource in resources.items()
        if resource.cost_per_day is None
        and resource.cost_mobilise is None
        and ("resource", name, "count") in decided
    ]
    if free and detail.is_priced:
        yield f"The file states no cost of {', '.join(free)}: more of them is free here, and nowhere else."


def _choice(detail: ChoiceDetail, goal: Goal) -> str:
    decision = detail.decision
    if decision is None:
        if detail.best is None:
            return "Nothing was found before the search was ended."
        sample = detail.visited.samples[detail.best]
        best = detail.opened.name(detail.best)
        return f"{_asked(detail, goal)}, best so far: {best}. {_does(detail, goal, sample)}"
    if decision.proof is None or detail.best is None:
        return _none(detail, goal)
    parts = [f"{_asked(detail, goal)}: {detail.opened.name(detail.best)}."]
    parts += [_does(detail, goal, decision.proof.sample), *_beside_file(detail), _shown(detail, goal)]
    return " ".join(parts)


def _asked(detail: ChoiceDetail, goal: Goal) -> str:
    if goal.due is not None:
        date = day(Days(detail.opened.scenario.settings).date_of(goal.due))
        return f"To finish by {date} with {share(goal.confidence)} confidence at the least cost"
    if goal.budget is not None:
        return f"For the earliest P80 at a mean cost of up to {_money(detail, goal.budget)}"
    return "For the earliest P80"


def _does(detail: ChoiceDetail, goal: Goal, sample: Sample) -> str:
    cost = f"costs {_money(detail, sample.mean_cost)}" if detail.is_priced else ""
    p80 = f"its P80 is {_date(detail, sample)}"
    if goal.due is None:
        return f"{p80[0].upper()}{p80[1:]}{f', and it {cost} on average' if cost else ''}."
    met = chance(sample.finish <= goal.due)
    ends = f"{share(met.low).removesuffix(' %')} to {share(met.high)}"
    costs = f", and it {cost} on average" if cost else ""
    return f"It meets the date in {share(met.value)} ({ends}) of {len(sample):,} trials; {p80}{costs}."


def _date(detail: ChoiceDetail, sample: Sample) -> str:
    minute = sample.quantile_min(P80)
    return (
        BEYOND if minute == float("inf") else day(Days(detail.opened.scenario.settings).date_of(int(minute)))
    )


def _money(detail: ChoiceDetail, amount: float) -> str:
    cost = detail.opened.scenario.settings.cost
    return f"{number(amount, digits=_digits(detail))} {'' if cost is None else cost.unit}".strip()


def _digits(detail: ChoiceDetail) -> int:
    return 0 if detail.matters >= 1 else 1


def _beside_file(detail: ChoiceDetail) -> Iterator[str]:
    row = detail.against_file
    if row is None:
        return
    if row.point == detail.opened.space.standing:
        yield "That is the file as it is."
        return
    parts = []
    if row.days is not None:
        later = row.days.mean > 0
        parts.append(f"{_ends(row.days, flip=not later)} days {'later' if later else 'earlier'}")
    if row.money is not None:
        more = row.money.mean > 0
        digits = _digits(detail)
        amount = _ends(row.money, flip=not more, digits=digits)
        parts.append(f"{amount} {_unit(detail)} {'more' if more else 'less'}")
    if parts:
        yield f"Against the file, in {row.n:,} trials of both, it finishes {' and costs '.join(parts)}."


def _unit(detail: ChoiceDetail) -> str:
    cost = detail.opened.scenario.settings.cost
    return "" if cost is None else cost.unit


def _ends(difference: Difference, *, flip: bool, digits: int = 1) -> str:
    sign = -1 if flip else 1
    low, high = sorted((sign * difference.low, sign * difference.high))
    mean = number(sign * difference.mean, digits=digits)
    if difference.sd == 0:
        return mean
    return f"{mean} ({number(low, digits=digits)} to {number(high, digits=digits)})"


def _shown(detail: ChoiceDetail, goal: Goal) -> str:
    """What fresh draws show of the neighbours."""
    decision = detail.decision
    assert decision is not None, "only of a choice"
    assert decision.proof is not None, "only of a choice that is shown"
    by = _money(detail, detail.matters) if goal.is_cost else f"{detail.matters:g} days of P80"
    than = f"better by more than {by}{_not_narrowly(detail, goal)}"
    sure = share(detail.asked.sure)
    untold = decision.proof.open
    of = len(decision.proof.rivals)
    if not untold:
        return f"With {sure} confidence none of {of} set-ups beside it is {than}."
    names = "; ".join(_step(detail, rival.point) for rival in untold[:3])
    more = f" and {len(untold) - 3} more" if len(untold) > 3 else ""
    return (
        f"With {sure} confidence none of {of - len(untold)} set-ups beside it is {than}; {len(untold)} "
        f"cannot be told from it by {untold[0].trials} trials: {names}{more}."
    )


def _not_narrowly(detail: ChoiceDetail, goal: Goal) -> str:
    """By how much a set-up beside it would have to do what is asked, where some may do it by less."""
    proof = None if detail.decision is None else detail.decision.proof
    if proof is None or not any(rival.state == NARROW for rival in proof.rivals):
        return ""
    spare = replace(goal, shown_by=detail.asked.fresh).spare(proof.sample)
    if goal.is_cost:
        return f" and meets the date in {share(goal.confidence + spare)} or more"
    return f" and stays {_money(detail, spare)} or more below the budget"


def _step(detail: ChoiceDetail, point: tuple[int, ...]) -> str:
    name, to = step_in_words(detail, detail.best or point, point)
    return f"{name} = {to}"


def _none(detail: ChoiceDetail, goal: Goal) -> str:
    decision = detail.decision
    assert decision is not None, "asked after a decision"
    last = decision.failed[-1]
    nearest = min(decision.failed, key=lambda proof: goal.rank(proof.sample), default=last)
    return (
        f"{_asked(detail, goal)}: none of {len(detail.visited.samples)} set-ups that were tried is shown to "
        f"do so. The nearest is {detail.opened.name(nearest.point)}. {_does(detail, goal, nearest.sample)}"
    )


def _trade_off(detail: ChoiceDetail) -> str:
    kept = [one for one in detail.curve if one.verdict == KEPT]
    if not kept:
        return "No set-up that was tried finishes inside the horizon in every trial."
    first, last = kept[0], kept[-1]
    ends = f"The cheapest is {_of(detail, first)}"
    file = next((one for one in detail.curve if one.point == detail.opened.space.standing), first)
    beside = "" if file in (first, last) else f" The file as it is has {_at(detail, file)}."
    if len(kept) == 1:
        return f"{ends}, and none that was tried finishes earlier.{beside}"
    count = f"{len(kept)} set-ups are kept of {_count(detail)}."
    return f"{ends}; the earliest is {_of(detail, last)}.{beside} {count}"


def _of(detail: ChoiceDetail, one: OnCurve) -> str:
    name = detail.opened.name(one.point)
    quoted = "the file as it is" if name == AS_FILE else f"'{name}'"
    return f"{quoted}, {_at(detail, one)}"


def _at(detail: ChoiceDetail, one: OnCurve) -> str:
    return f"P80 {_date(detail, one.sample)} for {_money(detail, one.sample.mean_cost)}"


def _count(detail: ChoiceDetail) -> str:
    return f"{len(detail.visited.samples):,} that were tried"


def _matters(detail: ChoiceDetail) -> Iterator[str]:
    little = matters_little(detail)
    if little:
        yield (
            f"A step of {', '.join(little)} changes neither the finish by {detail.asked.matters_days:g} days "
            "nor the cost by what matters."
        )


TURNED = "The set-ups that were played are held against each other at other dates and prices."


def _kept_means(detail: ChoiceDetail) -> Iterator[str]:
    """What is kept, and by which trials; what stands above of the choice may rest on more."""
    n = len(detail.curve[0].sample)
    yield (
        f"Kept is what no other set-up of the table beats at cost and P80 in {n:,} trials of each, under the "
        "same fresh draws; means and dates within their intervals may stand the other way round."
    )
    proof = None if detail.decision is None else detail.decision.proof
    if proof is not None and len(proof.sample) > n:
        yield f"What is said of the choice above rests on {len(proof.sample):,}."


def _to_know(detail: ChoiceDetail) -> Iterator[str]:
    """How to ask which uncertain number would change the choice: a command line that can be run."""
    names = list(kept_names(detail, "NAME"))[:2]
    if names:
        file, setups = shlex.quote(detail.opened.scenario.path), " ".join(f"--setup {n}" for n in names)
        yield (
            "Which uncertain number would change the choice if it were measured first, and what is that "
            "worth? Once set-ups are kept (--keep NAME), they are weighed against the file and each other by:"
        )
        yield f"towerpace know {file} {setups}"


def note_of(detail: ChoiceDetail, name: str) -> str:
    """What stands beside a set-up that is kept in the file: what it was chosen for."""
    goal = detail.asked.goal
    if goal is not None:
        return f"{_asked(detail, goal)}."
    return f"Number {name.rpartition('_')[2]} of the trade-off of cost against P80."


def _found(detail: ChoiceDetail) -> str:
    count = detail.opened.space.count
    whole = f"{detail.opened.space.product:,} or fewer" if count is None else f"{count:,}"
    fresh = detail.asked.fresh
    grid = "" if count is None else f"; {fresh:,} of each would be {count * fresh:,}"
    return (
        f"{len(detail.visited.samples):,} of {whole} set-ups were tried, in {detail.spent:,} trials, those "
        f"under fresh draws among them{grid}."
    )


def _facts(detail: ChoiceDetail) -> list[Fact]:
    asked, goal = detail.asked, detail.asked.goal
    settings = detail.opened.scenario.settings
    due = None if goal is None or goal.due is None else Days(settings).date_of(goal.due)
    best = detail.best
    count = detail.opened.space.count
    return [
        Fact(Column("unit", Kind.NAME, about="of money; none without costs"), _unit(detail) or None),
        Fact(Column("goal", Kind.TEXT, about="what was asked for"), _goal(goal)),
        Fact(Column("by", Kind.DATE, about="date to be met", event="date to be met"), due),
        Fact(
            Column("confidence", Kind.SHARE, about="with which it is to be met"),
            None if goal is None or goal.due is None else goal.confidence,
        ),
        Fact(
            Column("within", Kind.MONEY, about="mean cost that the earliest may have"),
            None if goal is None else goal.budget,
        ),
        Fact(
            Column("choice", Kind.TEXT, about="what departs from the file; none if none is shown"),
            None if best is None or _is_unshown(detail) else detail.opened.name(best),
        ),
        Fact(
            Column("matters_days", Kind.DAYS, about="difference of the finish that matters"),
            asked.matters_days,
        ),
        Fact(
            Column("matters_cost", Kind.MONEY, about="difference of the cost that matters"),
            detail.matters if goal is None or goal.is_cost else None,
        ),
        Fact(Column("sure", Kind.SHARE, about="that no set-up beside it is better by that"), asked.sure),
        Fact(Column("setups", Kind.COUNT, about="that the decisions leave open"), count),
        Fact(Column("tried", Kind.COUNT, about="set-ups that were played"), len(detail.visited.samples)),
        Fact(Column("trials_used", Kind.COUNT, about="trials in all"), detail.spent),
    ]


def _is_unshown(detail: ChoiceDetail) -> bool:
    return detail.decision is not None and detail.decision.proof is None


def _goal(goal: Goal | None) -> str:
    if goal is None:
        return "trade-off"
    return "least cost" if goal.is_cost else "earliest"
