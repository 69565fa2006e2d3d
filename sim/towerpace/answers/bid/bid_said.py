"""A bid as an answer: what a duration is worth, and everything a reviewer may ask about it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from towerpace.answers import methods
from towerpace.answers.bid.allowance_tables import ALLOWANCE, allowance_tables
from towerpace.answers.bid.bid import Bid
from towerpace.answers.bid.bid_tables import (
    DAMAGES,
    DRIVERS,
    DURATION,
    NEEDED,
    SHARES,
    SOURCES,
    STAGES,
    SWINGS,
    bid_tables,
)
from towerpace.answers.bid.screening_tables import MORRIS, PAIRS, SOBOL, screening_tables
from towerpace.answers.bid.variant_tables import DOCUMENT, REGISTER, VARIANTS, variant_tables, variants_said
from towerpace.answers.cautions import cautions_of
from towerpace.answers.forecast_tables import ASSUMPTIONS, CONTRACT, FINISH, PERCENTILE, forecast_tables
from towerpace.answers.limits_table import LIMITS
from towerpace.answers.reconciled import RECONCILED
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer, Method
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day, share
from towerpace.answers.said.tables import Chapter, Column, Fact, Table, Value
from towerpace.units import DAY_MIN

_OF_FORECAST = (PERCENTILE.name, CONTRACT.name, LIMITS.name, FINISH.name, ASSUMPTIONS.name)
BID_TABLES = (
    NEEDED,
    DAMAGES,
    DURATION,
    SOURCES,
    SHARES,
    RECONCILED,
    DRIVERS,
    SWINGS,
    REGISTER,
    VARIANTS,
    STAGES,
    MORRIS,
    SOBOL,
    PAIRS,
    ALLOWANCE,
    LIMITS,
    PERCENTILE,
    CONTRACT,
    FINISH,
    ASSUMPTIONS,
    DOCUMENT,
)
BID_FIGURES = ("finish", "duration")
_CHAPTERS = (
    Chapter("What the duration is worth", shows=("finish", "needed")),
    Chapter("Contract dates and damages", shows=("contracts", "damages")),
    Chapter("Base, allowance and contingency", shows=("duration", "sources", "shares")),
    Chapter("What drives the finish", shows=("drivers", "swings", "morris", "sobol", "sobol_pairs")),
    Chapter("Risks and other assumptions", shows=("risks", "variants")),
    Chapter("Would more trials change it", shows=("stages",)),
    Chapter("Weather allowance", shows=("allowance_in_all", "allowance", "limits")),
    Chapter("One truth about each source", shows=("reconciled",)),
    Chapter("Who stands for it", shows=("document",), on=On.PAGE),
    Chapter("Assumptions", shows=("assumptions",), on=On.PAGE),
)
_SOURCES = Method(
    "Each source of spread is played as planned with all others on, and on with all others as planned, on "
    "the same draws; intervals at the confidence are by paired bootstrap. What does not add up is shown.",
    "B. Efron & R. J. Tibshirani (1993), An Introduction to the Bootstrap.",
)
_SHARES = Method(
    "Shares are means of what a source adds over sampled orders of all sources.",
    "J. Castro, D. Gomez & J. Tejada (2009), Polynomial calculation of the Shapley value based on sampling, "
    "Computers & Operations Research 36(5): 1726-1730 (from memory).",
)
_RANKS = Method(
    "Drivers are ranked by the correlation of ranks with the finish; the share explained is the first-order "
    "share of variance by groups of like input, adjusted for chance, with a jackknife interval.",
    "D. G. Bonett & T. A. Wright (2000), Sample size requirements for estimating Pearson, Kendall and "
    "Spearman correlations, Psychometrika 65: 23-28.",
)


def said(bid: Bid, *, monthly: bool = False, banners: Sequence[str] = ()) -> Answer:
    """The bid as everybody gets it.

    monthly : whether a terminal shows the allowance of every month. banners : of limits raised for it.
    """
    forecast = bid.forecast
    return Answer(
        question="bid",
        about="What a bid duration is worth",
        run=run_of(forecast.scenario, forecast.tower, seed=forecast.seed, trials=forecast.trials),
        said=" ".join(_said(bid)),
        facts=_facts(bid),
        tables=list(_tables(bid, monthly=monthly)),
        chapters=list(_chapters(bid)),
        banners=banners,
        cautions=cautions_of(forecast),
        figures=BID_FIGURES if _is_divided(bid) else BID_FIGURES[:1],
        methods=[
            methods.SCHEDULE,
            *([methods.BLOCKS] if bid.basis is not None else []),
            methods.RANKS,
            methods.COUNTS,
            *([_SOURCES] if bid.split is not None else []),
            *([_SHARES] if bid.shares else []),
            _RANKS,
        ],
    )


def _is_divided(bid: Bid) -> bool:
    """Whether base, allowance and contingency are all known."""
    split = bid.split
    return split is not None and split.contingency is not None and bid.planned.base is not None


def _chapters(bid: Bid) -> Iterator[Chapter]:
    for chapter in _CHAPTERS:
        if chapter is _CHAPTERS[0]:
            yield replace(chapter, sentences=(*_said(bid), _planned(bid)))
        elif VARIANTS.name in chapter.shows:
            yield replace(chapter, sentences=list(variants_said(bid)))
        else:
            yield chapter


def _tables(bid: Bid, *, monthly: bool) -> Iterator[Table]:
    yield from bid_tables(bid)
    yield from variant_tables(bid)
    yield from screening_tables(bid.screened)
    for table in allowance_tables(bid.basis, bid.allowance):
        yield replace(table, on=On.ALL) if monthly and table.name == ALLOWANCE.name else table
    yield from (table for table in forecast_tables(bid.forecast) if table.name in _OF_FORECAST)


def _said(bid: Bid) -> Iterator[str]:
    """The answer in one or two sentences."""
    stated = bid.stated
    if stated is not None:
        low, high = share(stated.chance.low, digits=1), share(stated.chance.high, digits=1)
        within = f"95 % interval {low.removesuffix(' %')} to {high}"
        met = f"{share(stated.chance.value, digits=1)} ({within})"
        duration = f"{stated.working_days} working days, that is by {day(stated.date)}"
        yield f"The chance of finishing within {duration}, is {met}."
    days = bid.forecast.days
    need = next(need for need in bid.needed if need.confidence == bid.confidence)
    at = f"For {share(bid.confidence)} confidence"
    if need.finish.value is None:
        yield f"{at} no date inside the horizon is late enough."
        return
    until = day(days.date_of(need.finish.value))
    yield f"{at} allow to {until}, {days.working_day(need.finish.value)} working days."


def _planned(bid: Bid) -> str:
    planned = bid.planned
    calm = _when(bid, planned.calm)
    if planned.recorded is None:
        return f"Without uncertainty the finish is {calm}; all that follows is counted from it."
    worked = _when(bid, planned.recorded)
    return (
        f"Without uncertainty the finish is {calm} without weather, and {worked} with the weather as "
        f"recorded {_year_played(bid)} on; all that follows is counted from the latter."
    )


def _year_played(bid: Bid) -> str:
    """The year of the record that the date without uncertainty is played with."""
    weather = bid.forecast.scenario.settings.weather
    stated = None if weather is None else weather.replay_year
    return "from the first year of the record" if stated is None else f"from {stated}"


def _when(bid: Bid, minute: int | None) -> str:
    days = bid.forecast.days
    if minute is None:
        return "after the horizon"
    return f"{day(days.date_of(minute))} ({days.working_day(minute)} working days)"


_FACTS = (
    Column("confidence", Kind.SHARE, about="at which contingency is counted"),
    Column("stated_date", Kind.DATE, about="last day of the duration asked about", event="finish as stated"),
    Column("stated_working_day", Kind.WORKING_DAY, about="its working days"),
    Column("chance", Kind.SHARE, about="that it is kept"),
    Column("chance_low", Kind.SHARE, about="end of its 95 % interval"),
    Column("chance_high", Kind.SHARE, about="end of its 95 % interval"),
    Column(
        "planned_without_weather",
        Kind.DATE,
        about="finish without uncertainty and weather",
        event="finish as planned, no weather",
    ),
    Column(
        "planned_with_recorded_weather",
        Kind.DATE,
        about="finish without uncertainty",
        event="finish as planned, weather as recorded",
    ),
    Column("base_days", Kind.DAYS, about="from the start, all goes as planned"),
    Column("allowance_days", Kind.DAYS, about="mean shift by all sources that nearly always move the finish"),
    Column("contingency_days", Kind.DAYS, about="from base and allowance to the date at the confidence"),
    Column("over_plan_mean_days", Kind.DAYS, about="finish over the plan, average of all trials"),
    Column("sd_days", Kind.DAYS, about="deviation of the finish"),
    Column("r_squared", Kind.NUMBER, about="of the regression of ranks"),
    Column("seeds_agree", Kind.TRUTH, about="whether the intervals of both seeds overlap"),
    Column("trials_played", Kind.COUNT, about="in all"),
)


def _facts(bid: Bid) -> list[Fact]:
    """What was asked, what the stated duration is worth, and what contingency is counted from."""
    stated, split, drivers = bid.stated, bid.split, bid.drivers
    of_stated: tuple[Value, ...] = (None,) * 5
    if stated is not None:
        met = stated.chance
        of_stated = (stated.date, stated.working_days, met.value, met.low, met.high)
    base = bid.planned.base
    of_split: tuple[Value, ...] = (None if base is None else base / DAY_MIN, None, None, None)
    if split is not None:
        of_split = (of_split[0], split.allowance, split.contingency, split.total_mean)
    planned = (_dated(bid, bid.planned.calm), _dated(bid, bid.planned.recorded))
    agrees = None if bid.second is None else bid.second.agrees
    values = (bid.confidence, *of_stated, *planned, *of_split, drivers.sd, drivers.r_squared, agrees)
    return [Fact(c, value) for c, value in zip(_FACTS, (*values, bid.trials_played), strict=True)]


def _dated(bid: Bid, minute: int | None) -> Value:
    return None if minute is None else bid.forecast.days.date_of(minute)
