"""What knowing is worth as an answer: the choice, the number worth most, and what remains."""

from __future__ import annotations

from collections.abc import Iterator

from towerpace.answers import methods
from towerpace.answers.cautions import hours_cautions, limits_cautions, raised_banners
from towerpace.answers.know.know import Known, Number
from towerpace.answers.know.know_tables import know_tables, rule_of
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer, Method
from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.people import number, share
from towerpace.answers.said.tables import Chapter, Column, Fact
from towerpace.plan.chance import (
    BREAKAGE,
    BREAKDOWNS,
    DELIVERIES,
    MINUTES,
    MOCK_UP,
    RISKS,
    STRUCTURE,
    WEATHER,
)

WORTH, BY_VALUE = "worth_knowing", "choice_by_value"
KNOW_FIGURES = (WORTH, BY_VALUE)
WAYS = {
    MINUTES: "time some items on a mock-up or on a like site, or take rates from a site's log",
    WEATHER: "nobody knows it before; a later choice, or a forecast near the day, comes nearest",
    DELIVERIES: "ask the factory and the haulier for their record, or have a load on trial",
    BREAKAGE: "count the losses of a like job, or of the first crates",
    BREAKDOWNS: "ask for the record of the very machine",
    STRUCTURE: "ask the structure's contractor for the dates that were kept so far",
    MOCK_UP: "build the mock-up before the choice",
    RISKS: "find out whether it befalls before the choice",
}
REGRESSION = Method(
    "What a choice loses is fitted to the drawn number over all trials, on the same draws for every choice; "
    "the value of knowing is what the least fitted loss saves against one choice for all trials, less the "
    "bias of picking the least of noisy fits. A number is shown to change the choice where a rule learned on "
    "nine tenths of the trials gains in the last, at 95 % over all numbers together.",
    "M. Strong, J. E. Oakley & A. Brennan (2014), Estimating multiparameter partial expected value of "
    "perfect information from a probabilistic sensitivity analysis sample, Medical Decision Making 34: "
    "311-326.",
)


def said(known: Known) -> Answer:
    """The value of knowing as everybody gets it."""
    base = known.setups[0].scenario
    played = known.asked if known.losses is None else len(known.losses)
    sentences = [*_choice(known), *_most(known)]
    return Answer(
        question="know",
        about="What it is worth to know first",
        run=run_of(base, known.ready.tower, seed=known.seed, trials=played, asked=known.asked),
        said=" ".join(sentences),
        facts=_facts(known),
        tables=know_tables(known),
        chapters=(
            Chapter("What it is worth to know first", sentences, shows=(WORTH, "numbers", BY_VALUE)),
            Chapter("How it could be known", list(_ways(known))),
            Chapter("Sources and choices", shows=("sources", "options")),
        ),
        methods=[*methods.of_trials(base), methods.COMMON_DRAWS, REGRESSION],
        banners=raised_banners(base, [(setup.name, setup.scenario) for setup in known.setups[1:]]),
        cautions=[
            *_limits_of_the_answer(known),
            *limits_cautions(base.settings),
            *hours_cautions(base, [setup.scenario for setup in known.setups]),
        ],
        figures=[] if known.losses is None else [*((WORTH,) if known.numbers else ()), *_by_value(known)],
    )


def _by_value(known: Known) -> Iterator[str]:
    if known.numbers and known.numbers[0].proven:
        yield BY_VALUE


def _facts(known: Known) -> list[Fact]:
    name = None if known.chosen is None else known.setups[known.chosen].name
    unit = "d" if known.by == "days" else known.unit
    return [
        Fact(Column("choice", Kind.NAME, about="what has the least mean loss without knowing"), name),
        Fact(Column("by", Kind.NAME, about="what a choice loses: money or days"), known.by),
        Fact(
            Column("everything", Kind.NUMBER, unit=unit, about="worth of knowing all that chance decides"),
            known.everything,
        ),
    ]


def amount(known: Known, value: float) -> str:
    """A loss in words."""
    if known.by == "days":
        return f"{number(value, digits=1)} days"
    return f"{number(value)} {known.unit}"


def _choice(known: Known) -> Iterator[str]:
    if known.chosen is None or known.everything is None:
        of = f"{known.beyond:,} of {known.asked:,} trials"
        yield (
            f"{of} of one choice or another end beyond the horizon: no mean is known, so no value. "
            "Raise tower.horizon_days."
        )
        return
    what = "has the least mean cost" if known.by == "money" else "finishes earliest in the mean"
    yield (
        f"Without knowing more, '{known.setups[known.chosen].name}' {what}. To know beforehand all that "
        f"chance decides would be worth {amount(known, known.everything)}; no measurement is worth more."
    )


def _most(known: Known) -> Iterator[str]:
    if known.losses is None:
        return
    best = next((one for one in known.numbers if one.proven), None)
    if best is None or best.worth is None:
        yield _nothing_shown(known)
        return
    low, high = amount(known, best.worth.low).split(" ")[0], amount(known, best.worth.high)
    yield (
        f"Worth most to know first: {best.drawn.name}, at most {amount(known, best.worth.value)} "
        f"(95 % interval {low} to {high}); it would change the choice in {share(best.worth.changes)} of the "
        f"trials{_rule(known, best)}."
    )


def _nothing_shown(known: Known) -> str:
    none = "No single number is shown to change the choice"
    open_ones = [one.drawn.name for one in known.numbers if one.worth is not None and one.worth.low > 0]
    if not open_ones:
        return f"{none}: choose now."
    return f"{none} by so few trials; {open_ones[0]} may: more trials would tell."


def _rule(known: Known, best: Number) -> str:
    rule = rule_of(known, best)
    unit = "" if best.drawn.unit in ("-", "befalls") else f" [{best.drawn.unit}]"
    return f": {rule}{unit}" if rule else ""


def _ways(known: Known) -> Iterator[str]:
    """What a planner could do to know the numbers that matter, by source; common practice, no source."""
    asked = dict.fromkeys(one.drawn.source for one in known.numbers if one.proven)
    for source in asked:
        if source in WAYS:
            yield f"{source[0].upper()}{source[1:]}: {WAYS[source]}."


def _limits_of_the_answer(known: Known) -> Iterator[str]:
    if known.losses is not None and len(known.losses) < known.asked:
        yield f"The run was interrupted, {len(known.losses)} of {known.asked} trials were finished."
    yield (
        "Worth at most: a measurement is never the whole number of a trial, and costs something itself. "
        "Values of single numbers do not add up."
    )
    if known.by == "days":
        yield (
            "By days alone the set-up that adds most often wins whatever is known: "
            "state costs to weigh what it takes."
        )
