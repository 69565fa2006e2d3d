"""An advice as an answer: what to add first, and then, and what each addition buys."""

from __future__ import annotations

from collections.abc import Iterator

from towerpace.answers import methods
from towerpace.answers.cautions import hours_cautions, limits_cautions, raised_banners
from towerpace.answers.choice.add import AdviceDetail, Ranked, days_in_words
from towerpace.answers.choice.add_tables import add_tables
from towerpace.answers.choice.differences import PAIRED
from towerpace.answers.estimates import unseen_at_most
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import number, share
from towerpace.answers.said.tables import Chapter, Column, Fact
from towerpace.scenario.load import Scenario

ADD_FIGURES = ("gains",)
PROCEDURE = "Kim & Nelson (2001), fully sequential, on common draws"


def said(advice: AdviceDetail) -> Answer:
    """The advice as everybody gets it."""
    scenario = advice.base.scenario
    answer = _advice(advice)
    return Answer(
        question="add",
        about="What to add first, and then",
        run=run_of(scenario, advice.tower, seed=advice.seed, trials=advice.trials_used),
        said=answer,
        facts=_facts(advice),
        tables=add_tables(advice),
        chapters=(
            Chapter("What to add", [answer], on=On.TERMINAL),  # at the head of a page anyhow
            Chapter("What each change gains", shows=("gains", "ranking")),
            Chapter("Candidates", list(_candidates(advice))),
            Chapter("One after the other", list(_paying_back(advice)), shows=("path",)),
            Chapter("How it was found", [_found(advice)]),
        ),
        methods=[*methods.of_trials(scenario), methods.COMMON_DRAWS, PAIRED, methods.SELECTION],
        banners=raised_banners(scenario, _tried(advice)),
        cautions=[
            *limits_cautions(scenario.settings),
            *hours_cautions(scenario, [scenario, *dict(_tried(advice)).values()]),
        ],
        figures=ADD_FIGURES,
    )


def _tried(advice: AdviceDetail) -> list[tuple[str, Scenario]]:
    """Every candidate that was ranked or taken, with its scenario."""
    options = [ranked.option for ranked in advice.ranking]
    options += [stride.ranked.option for stride in advice.path]
    return list({option.name: option.setup.scenario for option in options if option.is_candidate}.items())


def _advice(advice: AdviceDetail) -> str:
    names = [stride.ranked.option.name for stride in advice.path]
    if not names:
        return f"{advice.stopped.capitalize()}."
    then = "".join(f", then {name}" for name in names[1:])
    return f"Add {_first(advice.path[0].ranked)}{then}; {advice.stopped}."


def _first(ranked: Ranked) -> str:
    """The first addition with what it gains."""
    if ranked.days is None:
        return ranked.option.name
    mean, low, high = (
        number(-end, digits=1) for end in (ranked.days.mean, ranked.days.high, ranked.days.low)
    )
    interval = "in every trial" if ranked.days.sd == 0 else f"95 % interval {low} to {high}"
    return f"{ranked.option.name}, which {_gains(ranked)} {mean} days ({interval})"


def _gains(ranked: Ranked) -> str:
    return "gain" if ranked.option.size > 1 else "gains"


def _candidates(advice: AdviceDetail) -> Iterator[str]:
    for ranked in advice.ranking:
        option = ranked.option
        if option.is_candidate:
            yield f"{option.name}: {option.change}" + (f". {option.note}" if option.note else "")


def _paying_back(advice: AdviceDetail) -> Iterator[str]:
    """The additions of the path that are sure to lower the cost."""
    paying = [s.ranked.option.name for s in advice.path if s.ranked.money and s.ranked.money.high < 0]
    if paying:
        yield f"What pays back, as the mean cost is sure to fall: {', then '.join(paying)}."


def _found(advice: AdviceDetail) -> str:
    matters = (
        f"{days_in_words(advice.zone_days)} of the finish {'matters' if advice.zone_days == 1 else 'matter'}"
    )
    return " ".join(
        (
            f"{advice.trials_used:,} trials were played; the same number for every change would have taken "
            f"{advice.trials_equal:,}. {PROCEDURE}; {matters}. Units that come together are judged by "
            "what each gains. What is named first is played again under fresh draws: these tell its gain.",
            *_unchanged(advice),
        )
    )


def _unchanged(advice: AdviceDetail) -> Iterator[str]:
    """What may still be said of a change that changed no trial."""
    ranked = [r for r in advice.ranking if r.days is not None]
    for n in sorted({r.trials for r in ranked if r.days is not None and r.days.sd == r.days.mean == 0}):
        seldom = share(unseen_at_most(n))
        yield f"What changed none of {n} trials changes at most {seldom} of all (95 % sure)."


def _facts(advice: AdviceDetail) -> list[Fact]:
    cost = advice.base.scenario.settings.cost
    return [
        Fact(
            Column("unit", Kind.NAME, about="of money; none without costs"),
            None if cost is None else cost.unit,
        ),
        Fact(
            Column("matters_days", Kind.DAYS, about="difference of the finish that matters"), advice.zone_days
        ),
        Fact(
            Column("confidence", Kind.SHARE, about="that the first named of a round is best"),
            advice.confidence,
        ),
        Fact(Column("procedure", Kind.TEXT, about="how the best is found"), PROCEDURE),
        Fact(Column("stopped", Kind.TEXT, about="why the path ends"), advice.stopped),
        Fact(Column("trials_used", Kind.COUNT, about="trials played in all"), advice.trials_used),
        Fact(
            Column(
                "trials_equal_allocation", Kind.COUNT, about="had every set-up got as many as the longest"
            ),
            advice.trials_equal,
        ),
    ]
