"""What it takes to meet a date, as an answer: the cheapest set-up that does, and the frontier."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from towerpace.answers import methods
from towerpace.answers.cautions import limits_cautions
from towerpace.answers.choice.differences import COST, in_unit
from towerpace.answers.choice.target import MOST_ADDED, Reached, Tried, trials_to_show
from towerpace.answers.days import Days
from towerpace.answers.estimates import BEYOND
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day, share
from towerpace.answers.said.tables import Chapter, Column, Fact, Row, Table, interval

_COLUMNS = (
    Column("setup", Kind.TEXT, "added", about="units added"),
    Column("units", Kind.COUNT, about="units added in all"),
    COST,
    Column("p80", Kind.DATE, "P80", about="four trials in five finish by this day", blank=BEYOND),
    Column("chance", Kind.SHARE, about="share of the trials that meet the date"),
    *interval("chance", Kind.SHARE, about="end of its 95 % interval"),
    Column("trials", Kind.COUNT, about="played of it", on=On.PROGRAMS | On.PAGE),
)
FRONTIER = Table(
    "frontier",
    "Frontier: each finishes earlier than every cheaper one",
    _COLUMNS,
    about="set-ups whose P80 falls on an earlier day than that of every cheaper one",
)
GRID = Table(
    "grid",
    "Every set-up tried, the cheapest first",
    _COLUMNS,
    about="every set-up tried, the cheapest first; units of each resource follow in columns of their own",
    folded=True,
    on=On.ALL & ~On.TERMINAL,
)
TARGET_TABLES = (FRONTIER, GRID)
TARGET_FIGURES = ("frontier",)


def said(reached: Reached) -> Answer:
    """What meets the date, as everybody gets it."""
    answer = _cheapest(reached)
    return Answer(
        question="add",
        about="What it takes to meet a date",
        run=run_of(reached.scenario, reached.tower, seed=reached.seed, trials=reached.trials_used),
        said=answer,
        facts=_facts(reached),
        tables=(_table(FRONTIER, reached, reached.frontier), _table(GRID, reached, reached.grid)),
        chapters=(
            Chapter("What meets the date", [answer], on=On.TERMINAL),  # at the head of a page anyhow
            Chapter("What a date costs", shows=("frontier", "grid")),
            Chapter("How it was found", [_found(reached)]),
        ),
        methods=[*methods.of_trials(reached.scenario), methods.COMMON_DRAWS, methods.RANKS, methods.COUNTS],
        cautions=limits_cautions(reached.scenario.settings),
        figures=TARGET_FIGURES if any(_known(setup) for setup in reached.grid) else (),
    )


def _known(tried: Tried) -> bool:
    """Whether it has a place among dates and prices."""
    priced = tried.setup.scenario.settings.cost is None or tried.cost is not None
    return priced and tried.p80 is not None


def _table(table: Table, reached: Reached, tried: tuple[Tried, ...]) -> Table:
    units = [
        Column(f"added_{name}", Kind.COUNT, about=f"units of {name} added", on=On.PROGRAMS)
        for name in reached.resources
    ]
    cost = reached.scenario.settings.cost
    wider = replace(table, columns=(*table.columns, *units))
    return in_unit(wider, "" if cost is None else cost.unit).filled(_rows(reached, tried))


def _rows(reached: Reached, tried: tuple[Tried, ...]) -> Iterator[Row]:
    days = Days(reached.scenario.settings)
    for setup in tried:
        p80 = None if setup.p80 is None else days.date_of(setup.p80)
        met = setup.met.value, setup.met.low, setup.met.high
        units = (setup.added.get(name, 0) for name in reached.resources)
        yield setup.name, setup.units, setup.cost, p80, *met, setup.trials, *units


def _cheapest(reached: Reached) -> str:
    asked = f"To finish by {day(reached.date)} with {share(reached.confidence)} confidence"
    tried = ", ".join(reached.resources)
    if reached.cheapest is None:
        return f"{asked}: {_none_shown(reached, tried)}"
    best = reached.cheapest
    sentence = (
        f"{asked}, the cheapest of {len(reached.grid)} set-ups of {tried} that is shown to do so is: "
        f"{best.name}. It meets the date in {_met(best)}."
    )
    if reached.perhaps is None:
        return sentence
    return f"{sentence} Cheaper, and perhaps enough: {reached.perhaps.name}, in {_met(reached.perhaps)}."


def _none_shown(reached: Reached, tried: str) -> str:
    """What can be said where no set-up is shown to meet the date."""
    likely = reached.perhaps or max(reached.grid, key=lambda setup: setup.met.value)
    if likely.met.high < reached.confidence and not reached.left:
        return (
            f"not reachable by adding up to {MOST_ADDED} each of {tried}; the best of "
            f"{len(reached.grid)} set-ups ({likely.name}) meets the date in {_met(likely)}."
        )
    which = "best" if reached.perhaps is None else "cheapest that may do"
    more = f"{reached.left} set-ups were not played" if reached.left else _what_would_tell(reached)
    return (
        f"none of {len(reached.grid)} set-ups of {tried} is shown to do so. The {which} is {likely.name}, "
        f"which meets the date in {_met(likely)}. {more}."
    )


def _what_would_tell(reached: Reached) -> str:
    return (
        f"It takes {trials_to_show(reached.confidence)} trials of each at the least to show it"
        if reached.too_few
        else f"More than the {reached.trials:,} trials of each would tell"
    )


def _met(tried: Tried) -> str:
    low = share(tried.met.low).removesuffix(" %")
    return f"{share(tried.met.value)} ({low} to {share(tried.met.high)}) of the trials"


def _found(reached: Reached) -> str:
    price = "units added" if reached.scenario.settings.cost is None else "mean cost"
    return (
        f"Up to {MOST_ADDED} more of each of the resources that hold the finish, in every combination on the "
        f"same draws, {reached.trials_used:,} trials in all; the cheapest is that of the least {price}. A "
        "set-up is shown to meet the date where the lower end of the 95 % interval of its chance reaches "
        f"{share(reached.confidence)}."
    )


def _facts(reached: Reached) -> list[Fact]:
    cost, cheapest = reached.scenario.settings.cost, reached.cheapest
    return [
        Fact(
            Column("unit", Kind.NAME, about="of money; none without costs"),
            None if cost is None else cost.unit,
        ),
        Fact(Column("target", Kind.DATE, about="date to be met", event="date to be met"), reached.date),
        Fact(Column("confidence", Kind.SHARE, about="with which it is to be met"), reached.confidence),
        Fact(Column("resources", Kind.TEXT, about="what was added to"), ", ".join(reached.resources)),
        Fact(
            Column("cheapest", Kind.TEXT, about="cheapest set-up shown to meet it; none if none is"),
            None if cheapest is None else cheapest.name,
        ),
        Fact(
            Column("perhaps", Kind.TEXT, about="a cheaper one that may meet it, not shown; none if none"),
            None if reached.perhaps is None else reached.perhaps.name,
        ),
        Fact(Column("trials_used", Kind.COUNT, about="trials played in all"), reached.trials_used),
    ]
