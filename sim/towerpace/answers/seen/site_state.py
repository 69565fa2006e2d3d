"""What is known of a site at a data date: its past, its weather, what it has taught; for the draws."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from towerpace.answers.learn.entries import rows_of
from towerpace.answers.learn.from_record import losses_of
from towerpace.answers.learn.later_breaks import how_guessed, later_breaks
from towerpace.answers.learn.losses import LossSeen, learned_chances
from towerpace.answers.learn.minutes import Shown, SiteClock
from towerpace.answers.learn.site import SiteSeen, learn_log
from towerpace.answers.prepare import Prepared
from towerpace.answers.seen.as_it_went import as_it_went
from towerpace.answers.seen.by_counts import learn_counts
from towerpace.climate.hours import Hours
from towerpace.climate.measured import MeasuredSource
from towerpace.climate.source import WeatherSource
from towerpace.draws import Chooser, as_planned
from towerpace.engine.fastest import run
from towerpace.engine.spent import spent_min
from towerpace.plan.chance import Known
from towerpace.plan.pins import resumed
from towerpace.plan.seen import Seen, held_since
from towerpace.record.links import without_links
from towerpace.record.outcomes import Fate
from towerpace.record.resolve import Past, resolve
from towerpace.record.site_record import SiteRecord
from towerpace.record.site_weather import measured_at_station
from towerpace.record.times import AsPlanned
from towerpace.units import Floats, Ints


@dataclass(frozen=True)
class SiteState:
    """A scenario and what its site has shown up to a data date.

    past : what is known of every step. measured : hours of the site by quantity, as its station would have
    seen them; None without a file. seen : what the site taught about the paces of its trades.
    """

    ready: Prepared
    record: SiteRecord
    past: Past
    measured: dict[str, Floats] | None
    seen: SiteSeen
    losses: tuple[LossSeen, ...] = ()

    @property
    def day(self) -> date:
        """The data date."""
        return self.record.at


def as_planned_times(ready: Prepared) -> AsPlanned:
    """When every step begins and ends if all goes as planned, on the record as it came."""
    weather = ready.chooser.weather
    hours = None if weather is None else weather.replayed(0)
    diary = run(ready.tower.plan, as_planned(ready.tower.plan, hours=hours))
    return AsPlanned(diary.started.astype(np.int64), diary.finished.astype(np.int64))


def site_state(
    ready: Prepared,
    record: SiteRecord,
    *,
    planned: AsPlanned,
    learn: bool = True,
    teaches: Callable[[Shown], bool] = lambda _: True,
) -> SiteState:
    """What a record says of a scenario up to its data date.

    planned : the order of what nobody timed. learn : whether paces are learned: from the log, and from the
    counts of the sheet where it times no trade, or where nobody tells the weather that stopped what it times.
    teaches : whether a row of the log says anything of a pace.
    """
    measured = measured_of(ready, record)
    hours = hours_of(ready, measured)
    in_order = resolve(record, ready.tower, planned=planned)
    past = resolve(record, ready.tower, planned=as_it_went(ready.tower, in_order, hours=hours))
    rows = [row for row in rows_of(record.log, ready.tower) if teaches(row)] if learn else []
    befallen = {name: fate is Fate.BEFALLEN for name, fate in past.outcomes.risks.items()}
    seen = learn_log(
        ready.tower,
        rows,
        clock=clock_of(ready, measured),
        data_date=record.logged_until,
        befallen=befallen,
    )
    times_work = any(entry.place.what in ready.tower.trades for entry in record.log.entries)
    if learn and (not times_work or seen.untold):
        told = learn_counts(ready, past, weather=_weather(ready, measured))
        kept = seen.untold if times_work else told
        seen = seen.with_counts({trade: pace for trade, pace in told.items() if trade in kept})
    tower, losses = ready.tower, list[LossSeen]()
    if learn:
        losses = how_guessed(losses_of(past, tower), past, tower, record.log)
        losses += later_breaks(tower, past, record.log)
    return SiteState(ready, record, past, measured, seen, tuple(losses))


def measured_of(ready: Prepared, record: SiteRecord) -> dict[str, Floats] | None:
    """Hours that the site has measured, by quantity, as its station would have seen them; None without."""
    weather = ready.scenario.settings.weather
    if record.hours is None or weather is None:
        return None
    until = record.until // 60
    known = measured_at_station(record.hours, weather)
    return {quantity: values[:until] for quantity, values in known.items()}


def _weather(ready: Prepared, measured: dict[str, Floats] | None) -> WeatherSource | None:
    """The measured hours of the site, and drawn ones for the others."""
    source = ready.chooser.weather
    return source if source is None or measured is None else MeasuredSource.over(source, measured)


def clock_of(ready: Prepared, measured: dict[str, Floats] | None) -> SiteClock:
    """Open minutes of the site; hours that nobody measured teach nothing. measured : as of `SiteState`."""
    hours = _whole_hours(ready, measured)
    if hours is None or measured is None:
        return SiteClock(ready.tower.plan, hours=None)
    known = np.zeros(len(hours.speed_m_s), dtype=np.bool_)
    known[: len(measured["speed"])] = ~np.isnan(measured["speed"])
    return SiteClock(ready.tower.plan, hours=hours, measured=known)


def _whole_hours(ready: Prepared, measured: dict[str, Floats] | None) -> Hours | None:
    """The measured hours, with the record as it came where they have gaps; None if nobody measured."""
    source = ready.chooser.weather
    if source is None or measured is None:
        return None
    return MeasuredSource.over(source, measured).replayed(0)


def hours_of(ready: Prepared, measured: dict[str, Floats] | None) -> Hours | None:
    """The hours of the site; the record as it came where nobody measured."""
    source = ready.chooser.weather
    return None if source is None else _whole_hours(ready, measured) or source.replayed(0)


def chooser_of(state: SiteState, *, weather: SiteState | None, learned: SiteState | None) -> Chooser:
    """Draws trials that go on from the past of a state.

    weather, learned : state whose measured hours, and whose learned paces, are taken; None for neither.
    """
    ready, past = state.ready, state.past
    source = _weather(ready, None if weather is None else weather.measured)
    paces = None if learned is None else learned.seen.paces(ready.tower)
    plan = without_links(ready.tower.plan, past.let_go)
    chances = None if learned is None else learned_chances(learned.losses)
    known = Known(learned=paces, chances=chances, seen=seen_of(state))
    return replace(ready.chooser, plan=resumed(plan, past.until), weather=source, known=known)


def seen_of(state: SiteState) -> Seen:
    """The past as laws of chance and pins read it."""
    past, plan = state.past, state.ready.tower.plan
    outcomes = past.outcomes
    return Seen(
        data_date_min=past.until,
        began=past.begun,
        ended=past.ended,
        share=past.share,
        spent=_spent(state),
        since=held_since(without_links(plan, past.let_go), began=past.begun, ended=past.ended),
        earliest=past.earliest,
        latest=past.latest,
        held=past.held,
        lost={loss.lift: loss.unfit for loss in outcomes.losses if loss.known},
        risks={name: fate is Fate.BEFALLEN for name, fate in outcomes.risks.items()},
        failed_tries=outcomes.failed,
        passed=outcomes.passed,
    )


def _spent(state: SiteState) -> Ints:
    """Minutes at work of steps in progress, (n,), on the weather of the site; -1 for others. [min]"""
    past, plan = state.past, state.ready.tower.plan
    hours = hours_of(state.ready, state.measured)
    return spent_min(plan, began=past.begun, ended=past.ended, until=past.until, hours=hours)
