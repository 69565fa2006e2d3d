"""A comparison as an answer: what each set-up gains against the base, what it costs, and why."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from towerpace.answers import methods
from towerpace.answers.cautions import hours_cautions, limits_cautions, raised_banners
from towerpace.answers.choice.causes import CALENDAR_CLOCK, CauseChange
from towerpace.answers.choice.compare import Compared
from towerpace.answers.choice.compare_tables import compare_tables, mean_cost
from towerpace.answers.choice.differences import PAIRED
from towerpace.answers.choice.paired import Difference
from towerpace.answers.estimates import BEYOND
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day, number
from towerpace.answers.said.tables import Chapter, Column, Fact

CURVES, DIFFERENCES, COST_AGAINST_P80 = "finish_curves", "paired_differences", "cost_against_p80"
COMPARE_FIGURES = (DIFFERENCES, CURVES, COST_AGAINST_P80)


def said(compared: Sequence[Compared]) -> Answer:
    """The comparison as everybody gets it; the base is the first."""
    base = compared[0].forecast
    sentences = [_best(compared), *_why(compared)]
    unit = None if base.costs is None else base.costs.unit
    return Answer(
        question="compare",
        about="What each set-up gains",
        run=run_of(base.scenario, base.tower, seed=base.seed, trials=base.trials, asked=base.asked),
        said=" ".join(sentences),
        facts=[Fact(Column("unit", Kind.NAME, about="of money; none without costs"), unit)],
        tables=compare_tables(compared),
        chapters=(
            Chapter("What each gains", sentences, on=On.TERMINAL),  # at the head of a page anyhow
            Chapter("Set-ups", shows=("finish_curves", "setups", "contracts")),
            Chapter("What each gains", shows=("paired_differences", "differences")),
            Chapter("What it costs", shows=("cost_against_p80", "costs")),
            Chapter("Why", shows=("why", "causes")),
        ),
        methods=[
            *methods.of_trials(base.scenario),
            methods.COMMON_DRAWS,
            PAIRED,
            methods.RANKS,
            methods.COUNTS,
            methods.LEDGER,
        ],
        banners=raised_banners(base.scenario, [(c.setup.name, c.setup.scenario) for c in compared[1:]]),
        cautions=[
            *_unfinished(compared),
            *limits_cautions(base.scenario.settings),
            *hours_cautions(base.scenario, [c.setup.scenario for c in compared]),
        ],
        figures=[name for name in COMPARE_FIGURES if name != COST_AGAINST_P80 or _priced(compared)],
    )


def _priced(compared: Sequence[Compared]) -> bool:
    """Whether some set-up has both a mean cost and a P80."""
    return any(
        mean_cost(variant.forecast) is not None and variant.forecast.finish_at(0.8).value is not None
        for variant in compared
    )


def earliest(compared: Sequence[Compared]) -> tuple[Compared, Difference] | None:
    """The set-up that finishes earliest in the mean, with its gain, if it is shown to beat the base."""
    known = [
        (variant, variant.against.days) for variant in compared if variant.against and variant.against.days
    ]
    best = min(known, key=lambda pair: pair[1].mean, default=None)
    return None if best is None or best[1].high >= 0 else best


def _best(compared: Sequence[Compared]) -> str:
    best = earliest(compared)
    if best is not None:
        return _gains(*best, base=compared[0])
    if any(variant.against and variant.against.days for variant in compared):
        return "No set-up is shown to finish earlier than the base."
    if compared[0].forecast.trials < 2:
        return "One trial tells no difference: run more trials."
    return "Some trials of every pair end beyond the horizon: no mean difference is known."


def _gains(best: Compared, days: Difference, *, base: Compared) -> str:
    mean, low, high = (number(-end, digits=1) for end in (days.mean, days.high, days.low))
    return (
        f"'{best.setup.name}' finishes {mean} days earlier than the base on average "
        f"(95 % interval {low} to {high}); for 80 % confidence allow to {_p80(best)}, "
        f"with the base to {_p80(base)}."
    )


def _p80(variant: Compared) -> str:
    minute = variant.forecast.finish_at(0.8).value
    return BEYOND if minute is None else day(variant.forecast.days.date_of(minute))


def _why(compared: Sequence[Compared]) -> Iterator[str]:
    best = earliest(compared)
    causes = best[0].against.causes if best and best[0].against else ()
    if best and causes:
        yield f"What changes most with '{best[0].setup.name}': {in_words(causes[0])}."


def in_words(change: CauseChange) -> str:
    """A change of one cause as a person says it."""
    if change.clock == CALENDAR_CLOCK and change.front_days is not None:
        days = number(change.front_days.mean, digits=1, signed=True)
        return f"{change.cause} {days} days of each work area"
    hours = number(change.hours.mean, digits=0, signed=True)
    return f"{change.cause} {hours} shift hours of all trades together"


def _unfinished(compared: Sequence[Compared]) -> Iterator[str]:
    for variant in compared:
        forecast = variant.forecast
        if forecast.trials < forecast.asked:
            of = f"{forecast.trials} of {forecast.asked} trials"
            yield f"{variant.setup.name}: the run was interrupted, {of} were finished."
        if forecast.beyond:
            yield (
                f"{variant.setup.name}: {forecast.beyond} of {forecast.trials} trials do not finish inside "
                "the horizon; they count as later than all others."
            )
