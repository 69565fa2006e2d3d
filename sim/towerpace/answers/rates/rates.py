"""Rates of a site for the next bid: minutes, scatter, losses and moves as its log shows them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from towerpace.answers.learn.entries import rows_of
from towerpace.answers.learn.items import Stated
from towerpace.answers.learn.losses import LossSeen
from towerpace.answers.learn.posterior import Learned
from towerpace.answers.learn.site import TradeSeen, learn_log
from towerpace.answers.prepare import Prepared
from towerpace.answers.rates.logged import Logged, lifts_by_outcome, logged
from towerpace.answers.rates.losses import losses_logged
from towerpace.answers.rates.moves import Timed, gaps, moves_timed, trips_timed
from towerpace.answers.rates.respread import about_one, respread
from towerpace.answers.seen.site_state import clock_of, measured_of
from towerpace.record.site_record import SiteRecord
from towerpace.record.words import RISK
from towerpace.scenario.complaints import dotted
from towerpace.scenario.schema import GangTrade, Settings, Trade
from towerpace.scenario.spreads import Spread

FEWEST = 10  # items below which a rate is told to be of few; judgement, without a source


@dataclass(frozen=True)
class ItemRate:
    """Minutes of one kind of items of a trade.

    key : dotted, of the spread that is stated. column : that counts them. stated : as the scenario has it.
    site : with the level and scatter that the site has shown. [min]
    """

    key: str
    column: str
    stated: Spread
    site: Spread


@dataclass(frozen=True)
class TradeRate:
    """What the log shows of one trade.

    learned : level and scatter, with what was believed before. logged : its rows. pace : what is stated of
    it; own_pace : the same about 1, for minutes that hold the level already.
    """

    trade: str
    seen: TradeSeen
    learned: Learned
    logged: Logged
    items: tuple[ItemRate, ...]
    pace: Spread
    own_pace: Spread

    @property
    def level(self) -> float:
        """Minutes over those stated, median of what is known. [-]"""
        return float(self.learned.quantile(0.5))

    @property
    def count(self) -> int:
        """Items with known minutes, or known to the day."""
        return self.learned.exact + self.learned.dated

    @property
    def remarks(self) -> Iterator[str]:
        """What must be said of rates that come from little: few items, or one gang alone."""
        if self.count < FEWEST:
            yield "few"
        if self.logged.gangs == 1:
            yield "one gang"
        if self.logged.gangs is None:
            yield "gangs not told"


@dataclass(frozen=True)
class Rates:
    """Rates of a site.

    trades : of which the log shows any minutes. losses : by family. timed : moves and hoist trips.
    logged : rows of the log, trade by trade.
    """

    ready: Prepared
    record: SiteRecord
    trades: tuple[TradeRate, ...]
    losses: tuple[LossSeen, ...]
    timed: tuple[Timed, ...]
    logged: Mapping[str, Logged]

    @cached_property
    def untaught(self) -> list[str]:
        """Trades of which the log has rows, but no minutes that teach anything."""
        taught = {rate.trade for rate in self.trades}
        return [trade for trade in self.logged if trade not in taught]


def rates(ready: Prepared, record: SiteRecord) -> Rates:
    """Rates of the site that a record with a log tells of."""
    tower, log, measured = ready.tower, record.log, measured_of(ready, record)
    clock, rows = clock_of(ready, measured), logged(log, tower)
    until = record.logged_until
    shown = list(rows_of(log, tower))
    seen = learn_log(tower, shown, clock=clock, data_date=until, befallen=_befallen(record))
    trades = tuple(
        _trade_rate(ready.scenario.settings, trade, trade.told, rows[trade.trade])
        for trade in seen.trades
        if isinstance(trade.told, Learned)
    )
    moves = moves_timed(gaps(log, tower, clock, data_date=until), ready)
    trips = trips_timed(log, tower, clock, data_date=until)
    timed = tuple(timed for timed in (moves, trips) if timed is not None)
    losses = tuple(losses_logged(tower, lifts_by_outcome(log, tower)))
    return Rates(ready, record, trades, losses, timed, rows)


def _befallen(record: SiteRecord) -> dict[str, bool]:
    """Whether a risk has befallen, of those of which the sheet tells."""
    latest = record.progress.latest().items()
    told = {place.what: report.amount.said for place, report in latest if place.what.startswith(f"{RISK} ")}
    return {what.removeprefix(f"{RISK} "): said != "no" for what, said in told.items()}


def _trade_rate(settings: Settings, seen: TradeSeen, learned: Learned, rows: Logged) -> TradeRate:
    trade, level = settings.trade[seen.trade], float(learned.quantile(0.5))
    items = tuple(
        ItemRate(key, column, stated, respread(stated, level=level, scatter=_scatter(trade, stated, learned)))
        for key, column, stated in _stated_items(settings, seen.trade)
    )
    p10, p90 = (float(learned.quantile(u)) / level for u in (0.1, 0.9))
    left = Spread.quantiles(p10=p10, p50=1.0, p90=p90)
    own_pace = about_one(trade.pace, if_certain=left)
    return TradeRate(seen.trade, seen, learned, rows, items, trade.pace, own_pace)


def _stated_items(settings: Settings, name: str) -> Iterator[tuple[str, str, Spread]]:
    """Dotted key, column and spread of every kind of items of a trade."""
    trade = settings.trade[name]
    if not isinstance(trade, GangTrade):
        for family in trade.families:
            table = settings.family[family]
            yield dotted(("family", family, "set_min")), table.column, table.set_min
        return
    if trade.unit_min is not None and trade.column is not None:
        yield dotted(("trade", name, "unit_min")), trade.column, trade.unit_min
    for piece, of_class in trade.classes.items():
        yield dotted(("trade", name, "classes", piece, "unit_min")), of_class.column, of_class.unit_min


def _scatter(trade: Trade, stated: Spread, learned: Learned) -> float:
    """Scatter of items over the stated one. [-]

    A gang's front is one item, so what fronts have in common cannot be told from scatter: both count. Of
    panels only their own: what a front has in common no key of a scenario takes.
    """
    own = float(learned.scatter(0.5))
    if not isinstance(trade, GangTrade):
        return own
    sd = Stated.of([stated]).scatter
    return float((own**2 + (float(learned.front_sd(0.5)) / sd) ** 2) ** 0.5)
