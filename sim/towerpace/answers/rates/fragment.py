"""Rates as a set-up of a scenario file, every number with where it comes from."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from typing import Any

from towerpace import __version__
from towerpace.answers.rates.losses import chances_of_keys
from towerpace.answers.rates.rates import Rates, TradeRate
from towerpace.answers.rates.respread import respread, rounded
from towerpace.answers.said.people import day, number, share, words
from towerpace.scenario.as_toml import toml_change, toml_value
from towerpace.scenario.complaints import dotted
from towerpace.scenario.schema import Settings
from towerpace.scenario.spreads import Spread

_LOW, _HIGH = 0.05, 0.95
NOTE = (
    "Levels from the site, widths of paces as stated: one site does not tell how much sites differ. "
    "By trade, all its gangs together."
)


def changes_of(rates: Rates) -> dict[str, Mapping[str, object]]:
    """New values by dotted key, each with its source; a table that `load` takes as changes."""
    changes: dict[str, Mapping[str, object]] = {}
    for rate in rates.trades:
        source = _of_trade(rates, rate)
        for item in rate.items:
            changes[item.key] = _stated(item.site, source=source)
        changes[dotted(("trade", rate.trade, "pace"))] = _stated(rate.own_pace, source=_of_pace(rate))
    for seen in rates.losses:
        told = f"{seen.lost} of {seen.exposed} panels, {_where(rates)}; stated {share(seen.stated, digits=1)}"
        for key, chance in chances_of_keys(rates.ready.scenario, seen):
            changes[key] = {"value": rounded(chance), "source": told}
    for timed in rates.timed:
        ends = f"{number(timed.site[1], digits=1)} to {number(timed.site[2], digits=1)} min"
        told = f"{timed.times} times, {_where(rates)}; mean {number(timed.site[0], digits=1)} min ({ends})"
        for key in timed.keys:
            spread = stated_at(rates.ready.scenario.settings, key)
            changes[key] = _stated(respread(spread, level=timed.level, scatter=1.0), source=told)
    return changes


def stated_at(settings: Settings, key: str) -> Spread:
    """The spread that a scenario states at a dotted key of two parts."""
    table, name = key.split(".")
    spread: Any = getattr(getattr(settings, table), name)
    assert isinstance(spread, Spread), f"{key} is a spread"
    return spread


def setup_name(rates: Rates) -> str:
    """Name of the set-up.

    >>> _plain("Gannet Wharf")
    'gannet_wharf'
    """
    return f"rates_of_{_plain(rates.ready.tower.name)}"


def _plain(name: str) -> str:
    letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "_", letters).strip("_")[:40] or "site"


def fragment(rates: Rates) -> str:
    """The set-up as text, to be pasted at the end of a scenario file."""
    return "\n".join([*_lines(rates), ""])


def _lines(rates: Rates) -> Iterator[str]:
    record = rates.record
    yield f"# Rates of a site for the next bid, written by towerpace {__version__}."
    yield "# Paste them at the end of a scenario file, and compare the set-up with the base; or take what"
    yield "# stands behind the keys into the tables of the scenario."
    yield f"# From the {_where(rates)}, record {record.hash[:12]}."
    yield ""
    yield f"[setup.{setup_name(rates)}]"
    yield f"note = {toml_value(NOTE)}"
    for key, value in changes_of(rates).items():
        yield toml_change(key, value)


def _stated(spread: Spread, *, source: str) -> Mapping[str, object]:
    stated = spread.stated()
    table = dict(stated) if isinstance(stated, Mapping) else {"value": stated}
    return {**table, "source": source}


def _where(rates: Rates) -> str:
    """From which log: name of the tower and the days that it tells of."""
    days = [(rows.first, rows.last) for rows in rates.logged.values()]
    first, last = min(first for first, _ in days), max(last for _, last in days)
    return f"log of {rates.ready.tower.name}, {day(first)} to {day(last)}"


def _of_trade(rates: Rates, rate: TradeRate) -> str:
    low, high = (number(float(rate.learned.quantile(u)), digits=2) for u in (_LOW, _HIGH))
    remarks = ", ".join(rate.remarks)
    n = rate.logged.gangs
    gangs = f" by {n} {'gang' if n == 1 else 'gangs'}" if n else ""
    return (
        f"log of {rates.ready.tower.name}, {day(rate.logged.first)} to {day(rate.logged.last)}: "
        f"{rate.count} items of {words(rate.trade)}{gangs}, {number(rate.level, digits=2)} times the minutes "
        f"stated ({low} to {high}), scatter {number(float(rate.learned.scatter(0.5)), digits=2)} times"
        f"{f' ({remarks})' if remarks else ''}"
    )


def _of_pace(rate: TradeRate) -> str:
    of_learned = "what the log leaves open of it" if rate.pace.kind == "constant" else "width as stated"
    return f"1 is the minutes of the log; {of_learned}: {rate.pace.describe()}"
