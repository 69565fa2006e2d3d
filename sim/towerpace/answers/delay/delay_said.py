"""A delay as everybody gets it: days by event, together, period by period, and what the model leaves open."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from towerpace.answers import methods
from towerpace.answers.cautions import LIMITS_CAUTION
from towerpace.answers.delay.concurrency import MOST_TOGETHER
from towerpace.answers.delay.delay import Delay, Single
from towerpace.answers.delay.delay_tables import band, delay_tables, mean_interval
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer, Method
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day as day_said
from towerpace.answers.said.people import number
from towerpace.answers.said.people import share as share_said
from towerpace.answers.said.tables import Chapter, Column, Fact
from towerpace.answers.update.update_said import UNPROVEN
from towerpace.plan.arrays import NONE
from towerpace.units import Floats

DELAY_FIGURES = ("cost", "moves")
WELL_TIMED = 0.9  # judgement
NO_ENTITLEMENT = (
    "These are days of a model, no entitlement: who answers for an event, whether it excuses, and what it is "
    "worth, contract and law decide. They govern, and so does the method that a contract names."
)
NOT_SPREAD = (
    "What the record and its replay differ by is the model's error or a cause that nobody wrote down. It is "
    "told and never spread over the events."
)
REPLAY = Method(
    "Up to the begin of an event every trial is the record. From then on the site is played once more: what "
    "was seen later keeps its minutes, dates and weather, all else is drawn from what the site has taught; "
    "once with the event and once without it, on the same draws. The difference is its days.",
    "J. Pearl (2009), Causality, 2nd ed., section 7.1, on counterfactuals: abduction, action, prediction "
    "(from memory).",
)
CLASSES = Method(
    "Close in spirit to two of the methods that the SCL Delay and Disruption Protocol describes (2nd ed., "
    "2017), time slices and the collapsed as-built programme, and to the modelled, subtractive class of "
    "AACE recommended practice 29R-03. It is none of them: resources and weather act anew in every replay. "
    "Both were read in secondary accounts only; nothing is claimed of conforming to either."
)
SHARES = Method(
    "The share of an event is the mean, over all orders in which the events may be added, of what it adds: a "
    "rule of sharing among several, no finding of cause.",
    "L. S. Shapley (1953), A value for n-person games, in Kuhn & Tucker (eds.), Contributions to the Theory "
    "of Games II (from memory).",
)


def said(of: Delay) -> Answer:
    """The delay as everybody gets it."""
    ready, how = of.ready, of.site.how
    record = of.site.state.record
    return Answer(
        question="delay",
        about="What the finish would have been without",
        run=run_of(ready.scenario, ready.tower, seed=how.seed, trials=how.trials),
        said=_said(of),
        facts=[
            Fact(Column("data_date", Kind.DATE, about="day at whose end the site was seen"), record.at),
            Fact(Column("record_hash", Kind.NAME, about="SHA-256 of the files of the record"), record.hash),
            Fact(Column("all_days", Kind.DAYS, about="what all events cost together, mean"), _all(of)[0]),
            Fact(
                Column("unexplained_days", Kind.DAYS, about="record less its replay from the first event on"),
                band(_first(of).unexplained)[0],
            ),
        ],
        tables=delay_tables(of),
        chapters=_chapters(of),
        cautions=[NO_ENTITLEMENT, NOT_SPREAD, UNPROVEN, LIMITS_CAUTION],
        figures=list(DELAY_FIGURES),
        methods=[methods.SCHEDULE, REPLAY, SHARES, CLASSES],
    )


def _first(of: Delay) -> Single:
    return of.delays.singles[0]


def _all(of: Delay) -> tuple[float, float, float]:
    return band(of.delays.together.whole)


def _said(of: Delay) -> str:
    singles = of.delays.singles
    most = max(singles, key=lambda single: abs(band(single.cost())[0]))
    mean, low, high = mean_interval(most.cost())
    name, what = most.event.name, most.event.what
    if not _is_shown(most.cost()):
        text = "No event is shown to have moved the finish."
    else:
        text = f"Without {name} ({what}) the finish would have been {_by(mean)} (95 % interval "
        text += f"{_range(*sorted((abs(low), abs(high))))})."
        text += _sooner(mean)
    if len(singles) > 1:
        text += _together(of)
    return f"{text} {_unexplained(of)}"


def _is_shown(days: Floats) -> bool:
    """Whether a mean of trials lies beyond its interval about 0."""
    _, low, high = mean_interval(days)
    return low > 0 or high < 0


def _together(of: Delay) -> str:
    """What all events cost, if anything is shown of it."""
    days = of.delays.together.whole
    mean, low, high = (number(value, digits=1, signed=True) for value in mean_interval(days))
    all_of = f"All {len(of.delays.singles)} events together"
    told = f"95 % interval {low} to {high}"
    if not _is_shown(days):
        return f" {all_of} are not shown to have moved it ({mean} days, {told})."
    by = float(mean_interval(days)[0])
    return f" {all_of} moved it by {mean} days ({told}).{_sooner(by)}"


def _sooner(days: float) -> str:
    """What a reader needs who thinks that less can only be sooner."""
    if days >= 0:
        return ""
    return " With it the work went in another order and met other weather, and ended sooner."


def _by(days: float) -> str:
    if round(days, 1) == 0:
        return "the same"
    return f"{number(abs(days), digits=1)} days {'earlier' if days > 0 else 'later'}"


def _range(low: float, high: float) -> str:
    return f"{number(low, digits=1)} to {number(high, digits=1)}"


def _unexplained(of: Delay) -> str:
    days = band(_first(of).unexplained)[0]
    if round(days, 1) == 0:
        return "The replay with all events ends when the record does."
    which = "later" if days > 0 else "earlier"
    return (
        f"The record is {number(abs(days), digits=1)} days {which} than its replay with all events: not "
        "explained by the model."
    )


def _chapters(of: Delay) -> list[Chapter]:
    return [
        Chapter("At the data date", (_record(of), _timed(of)), on=On.PEOPLE),
        Chapter("Without each event", (_said(of), *_beyond(of)), ("events", "cost", "contract_days")),
        *_of_several(of),
        Chapter("Period by period", shows=("moves", "periods", "parts")),
        Chapter("What may have been paced", (_paced(of),), ("paced", "paced_days") if of.paced else ()),
        Chapter("What waited for nothing that is known", (_not_started(of),), ("not_started",)),
        Chapter("What is recorded", shows=("filled_in", "remarks"), on=On.PAGE),
    ]


def _of_several(of: Delay) -> Iterator[Chapter]:
    n = len(of.delays.singles)
    if n < 2:
        return
    text = "Played from the begin of the first event on, with every set of them."
    if n > MOST_TOGETHER:
        text = f"More than {MOST_TOGETHER} events: only pairs are played, and nothing is shared out."
    yield Chapter("Events at the same time", (text,), ("together",))


def _record(of: Delay) -> str:
    record = of.site.state.record
    return (
        f"Data date {day_said(record.at)}, record {record.hash[:12]}, {len(record.progress.reports):,} rows, "
        f"{len(record.log.entries):,} entries of the log, {len(of.site.events)} events."
    )


def _timed(of: Delay) -> str:
    """How much of what is done the log times: of the rest the minutes are those of the law."""
    past, tower = of.site.state.past, of.site.state.ready.tower
    work = tower.plan.by_tags(lambda tags: tags.trade in tower.trades) == 1
    done = work & (past.ended != NONE) & tower.plan.planned
    share = float(past.told[done].mean()) if done.any() else 0.0
    text = f"The log times the minutes of {share_said(share)} of the steps of work that are done."
    if share < WELL_TIMED:
        text += " Those of the others are drawn anew in every trial, which widens the bands."
    return text


def _beyond(of: Delay) -> Iterator[str]:
    lost = [
        int((~np.isfinite(days)).sum())
        for single in of.delays.singles
        for days in (*single.with_it.values(), *single.without_it.values())
    ]
    if most := max(lost):
        yield f"Up to {most:,} trials of a replay end after the horizon; its differences leave them out."


def _paced(of: Delay) -> str:
    if not of.paced:
        return "No front that the log times was slower than learned while it had more slack than the delay."
    n = len(of.paced)
    fronts = "front was" if n == 1 else "fronts were"
    return (
        f"{n} {fronts} slower than the learned 90 % band while there was more slack than the delay that ran. "
        "Both answers stand below; the program does not decide between them."
    )


def _not_started(of: Delay) -> str:
    if not of.not_started:
        return "Nothing that the record times waited without a cause that it shows."
    return (
        "Work whose shift was open, whose turn had come and whose gang was free, and that had not begun. "
        "Times that nobody wrote down are guesses, and so are their hours here."
    )
