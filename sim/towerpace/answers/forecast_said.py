"""A forecast as an answer: what the finish date and every level's closing-in are worth."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from towerpace.answers import methods
from towerpace.answers.cautions import cautions_of, hours_cautions, raised_banners
from towerpace.answers.estimates import Chance
from towerpace.answers.forecast import Forecast
from towerpace.answers.forecast_tables import forecast_tables
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer, Method
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day, share
from towerpace.answers.said.tables import Chapter, Column, Fact
from towerpace.scenario.load import Scenario
from towerpace.scenario.setups import SetUp

FORECAST_FIGURES = ("finish", "closing_in", "flow", "panels", "activities", "time")


def said(forecast: Forecast) -> Answer:
    """The forecast as everybody gets it."""
    tables = forecast_tables(forecast)
    empty = {table.name for table in tables if not table.rows}
    figures = [name for name in FORECAST_FIGURES if _DRAWN_FROM.get(name, name) not in empty]
    asked = forecast.asked
    return Answer(
        question="forecast",
        about="What the finish date is worth",
        run=run_of(
            forecast.scenario, forecast.tower, seed=forecast.seed, trials=forecast.trials, asked=asked
        ),
        said=" ".join([_finish(forecast), *_contracts(forecast)]),
        facts=_facts(forecast),
        tables=tables,
        chapters=list(_chapters(forecast)),
        cautions=cautions_of(forecast),
        figures=figures,
        methods=_methods(forecast),
    )


def said_of_setup(forecast: Forecast, setup: SetUp, base: Scenario) -> Answer:
    """The forecast of a set-up of a file: named, with the banners and cautions of what it changes."""
    answer, of = said(forecast), f"Set-up '{setup.name}' in the place of the file as it is."
    return replace(
        answer,
        said=f"{of} {answer.said}",
        chapters=[Chapter("What is played", [of], on=On.TERMINAL), *answer.chapters],
        cautions=list(dict.fromkeys([*answer.cautions, *hours_cautions(base, [setup.scenario])])),
        banners=raised_banners(base, [(setup.name, setup.scenario)]),
    )


def _methods(forecast: Forecast) -> list[Method]:
    weather = forecast.scenario.settings.weather
    blocks = [] if weather is None else [methods.BLOCKS]
    return [methods.SCHEDULE, *blocks, methods.RANKS, methods.COUNTS, methods.LEDGER]


_DRAWN_FROM = {"panels": "s_curve"}
_CHAPTERS = (
    Chapter("What can be promised", shows=("finish", "percentiles", "contracts", "finish_by_day")),
    Chapter("When each level is closed in", shows=("closing_in",)),
    Chapter("When what happens once is done", shows=("activities",)),
    Chapter("Where the time goes", shows=("time", "where_time_goes", "ledger", "ledger_by_level")),
    Chapter("How the work climbs", shows=("flow", "panels", "s_curve"), on=On.PAGE),
    Chapter("Weather", shows=("limits", "weather_lost"), on=On.PAGE),
    Chapter("Assumptions", shows=("assumptions",), on=On.PAGE),
)
_NO_WEATHER = "The scenario has no weather: nothing in these results waits for wind, rain or cold."


def _chapters(forecast: Forecast) -> Iterator[Chapter]:
    for chapter in _CHAPTERS:
        if chapter.title == "Weather" and forecast.scenario.settings.weather is None:
            yield replace(chapter, sentences=(_NO_WEATHER,))
        else:
            yield chapter


def _finish(forecast: Forecast) -> str:
    last = day(forecast.days.date_of(forecast.tower.plan.horizon))
    half, four_fifths = forecast.finish_at(0.5), forecast.finish_at(0.8)
    if forecast.trials == 1:
        only = half.value
        ends = f"does not finish by {last}" if only is None else f"finishes on {_on(forecast, only)}"
        return f"The only trial {ends}."
    if four_fifths.value is not None:
        within = ""
        if four_fifths.bounded and four_fifths.low is not None and four_fifths.high is not None:
            interval = f"{_on(forecast, four_fifths.low)} to {_on(forecast, four_fifths.high)}"
            within = f" (95 % interval {interval})"
        return f"Four trials in five finish by {_on(forecast, four_fifths.value)}{within}."
    if half.value is not None:
        return f"Half of the trials finish by {_on(forecast, half.value)}, fewer than four in five by {last}."
    return f"Fewer than half of the trials finish by {last}, the last day played."


def _on(forecast: Forecast, minute: int | None) -> str:
    return "after the horizon" if minute is None else day(forecast.days.date_of(minute))


def _contracts(forecast: Forecast) -> Iterator[str]:
    contracts = forecast.contracts
    for contract in contracts:
        if contract.level is None or len(contracts) == 1:
            what = "" if contract.level is None else f" for level {contract.level}"
            yield f"The contract date of {day(contract.date)}{what} is met in {_met(contract.chance)}."
    if forecast.joint is not None and len(contracts) > 1:
        every = "Both" if len(contracts) == 2 else f"All {len(contracts)}"
        yield f"{every} contract dates together are met in {_met(forecast.joint)}."


def _met(chance: Chance) -> str:
    low = share(chance.low).removesuffix(" %")
    return f"{share(chance.value)} ({low} to {share(chance.high)}) of the trials"


def _facts(forecast: Forecast) -> list[Fact]:
    mean, sd = forecast.finish_days or (None, None)
    caught, past = (float(forecast.outcomes.values[k].mean()) for k in ("caught", "past_shift"))
    return [
        Fact(Column("mean_days", Kind.DAYS, about="calendar days from the start to the finish, mean"), mean),
        Fact(Column("sd_days", Kind.DAYS, about="their standard deviation"), sd),
        Fact(
            Column("beyond_horizon", Kind.COUNT, about="trials that do not finish inside it"), forecast.beyond
        ),
        Fact(
            Column("lifts_caught_by_weather", Kind.NUMBER, about="under way when their hour turned bad"),
            caught,
        ),
        Fact(
            Column("lifts_past_shift_end", Kind.NUMBER, about="begun in the shift and ended after it"),
            past,
        ),
    ]
