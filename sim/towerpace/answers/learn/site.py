"""Everything that a log, and the sheet beside it, have taught about the paces of a site."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from towerpace.answers.learn.counts import FromCounts
from towerpace.answers.learn.from_log import LogItems
from towerpace.answers.learn.minutes import Shown, SiteClock
from towerpace.answers.learn.odd_items import Odd, odd_items
from towerpace.answers.learn.posterior import Learned, learn
from towerpace.answers.learn.priors import Prior, prior_of
from towerpace.plan.laws import Durations, PaceLaw
from towerpace.plan.learned import LearnedPaces, front_numbers
from towerpace.plan.site.tower import Tower


@dataclass(frozen=True)
class TradeSeen:
    """What the site has shown of one trade.

    prior : what was believed before. told : what is known now, None if nothing was shown.
    untold : rows of the log that weather may have stopped, where nobody says what the weather was.
    odd : kinds of items that take longer or shorter than the others of the trade, as stated.
    """

    trade: str
    prior: Prior
    told: Learned | FromCounts | None = None
    untold: int = 0
    odd: Sequence[Odd] = ()


@dataclass(frozen=True)
class SiteSeen:
    """What the site has shown of every trade, in the order of the scenario."""

    trades: Sequence[TradeSeen]

    def paces(self, tower: Tower) -> LearnedPaces | None:
        """As the draws of a plan read it, also of a plan changed since; None if nothing was shown.

        Trades that the plan no longer has are left out.
        """
        told = {seen.trade: seen.told for seen in self.trades if seen.told is not None}
        kept = {trade: pace for trade, pace in told.items() if trade in tower.trades}
        return LearnedPaces(kept, front_numbers(tower.plan)) if kept else None

    @property
    def untold(self) -> list[str]:
        """Trades of which the log teaches nothing, for nobody tells the weather that stops them."""
        return [seen.trade for seen in self.trades if seen.untold and seen.told is None]

    def with_counts(self, told: Mapping[str, FromCounts]) -> SiteSeen:
        """With the trades that the log says nothing about learned from counts."""
        return SiteSeen(
            [
                replace(seen, told=told[seen.trade]) if seen.told is None and seen.trade in told else seen
                for seen in self.trades
            ]
        )


def pace_law(tower: Tower) -> PaceLaw:
    """How the paces of a tower are drawn."""
    return next(law.pace for law in tower.laws if isinstance(law, Durations))


def learn_log(
    tower: Tower,
    rows: Sequence[Shown],
    *,
    clock: SiteClock,
    data_date: int,
    befallen: Mapping[str, bool] | None = None,
) -> SiteSeen:
    """What the rows of a log teach about each trade.

    clock : open minutes on the weather of the site; without that, trades that weather stops are not learned,
        for their minutes would hold the wind that the trials draw once more. data_date : [min]
    befallen : whether a risk has befallen, of those of which it is known.
    """
    items, paces = LogItems(tower.plan, tower.laws, clock=clock), pace_law(tower)
    grouped, trades = items.by_trade(rows), []
    for trade in tower.trades:
        own, prior = grouped.get(trade, []), prior_of(trade, paces, befallen=befallen)
        seen = items.of(own, trade=trade, data_date=data_date)
        learned = learn(seen, prior=prior) if len(seen) else None
        odd = odd_items(seen, learned) if learned else ()
        untold = items.untold(own, trade=trade, data_date=data_date)
        trades.append(TradeSeen(trade, prior, learned, untold, odd))
    return SiteSeen(trades)
