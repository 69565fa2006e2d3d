"""Paces where the site keeps no log: trials played to the data date, held beside what the sheet counts."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from towerpace.answers.learn.counts import FromCounts
from towerpace.answers.learn.from_record import shares_of
from towerpace.answers.learn.from_sheet import learn_sheet, shares_done
from towerpace.answers.learn.site import pace_law
from towerpace.answers.prepare import Prepared
from towerpace.climate.source import WeatherSource
from towerpace.draws import Draw, stream
from towerpace.engine.fastest import run
from towerpace.plan.arrays import NONE
from towerpace.plan.chance import Known
from towerpace.plan.seen import Seen
from towerpace.plan.site.tower import Tower
from towerpace.record.outcomes import Fate
from towerpace.record.resolve import Past
from towerpace.units import Floats

COUNT_SEED, COUNT_TRIALS = (
    0,
    120,
)  # of their own: what is learned does not change with the trials of an update


def learn_counts(ready: Prepared, past: Past, *, weather: WeatherSource | None) -> dict[str, FromCounts]:
    """Level of each trade of which the sheet counts anything, and whose pace is not certain.

    weather : of the site up to the data date, drawn where nobody measured.

    Trials have the handovers of the site, its risks and the tries of its mock-up; all else is drawn.
    """
    tower, known = ready.tower, Known(seen=_shown(ready, past))
    chooser, law = replace(ready.chooser, weather=weather, known=known), pace_law(tower)
    paces, played = [], list[Floats]()
    for trial in range(COUNT_TRIALS):
        paces.append(list(law.factors(partial(stream, COUNT_SEED, trial), known).values()))
        draw = _on_its_levels(chooser.draw(COUNT_SEED, trial), tower, past)
        played.append(shares_done(run(tower.plan, draw), at=past.until))
    told = learn_sheet(tower, paces=np.array(paces), played=played, seen=shares_of(past))
    counted = {trade for trade, (units, _) in past.done.items() if units}
    return {trade: pace for trade, pace in told.items() if trade in counted and np.ptp(pace.levels)}


def _on_its_levels(draw: Draw, tower: Tower, past: Past) -> Draw:
    """A draw in which no level is handed over before the data date that was not on the site."""
    levels, date = tower.handover, draw.date.copy()
    given = past.ended[levels] != NONE
    date[levels] = np.where(given, date[levels], np.maximum(date[levels], past.until))
    return Draw(draw.work, date, draw.skip, draw.hours)


def _shown(ready: Prepared, past: Past) -> Seen:
    """Only what decides when trades may begin: handovers, risks, tries of the mock-up."""
    n, levels = ready.tower.plan.n, ready.tower.handover
    ended = np.full(n, NONE, dtype=np.int64)
    ended[levels] = past.ended[levels]
    nothing = np.full(n, NONE, dtype=np.int64)
    return Seen(
        data_date_min=0,
        began=ended,
        ended=ended,
        share=np.full(n, np.nan),
        spent=nothing,
        since=nothing,
        earliest=past.earliest,
        latest=past.latest,
        risks={name: fate is Fate.BEFALLEN for name, fate in past.outcomes.risks.items()},
        failed_tries=past.outcomes.failed,
        passed=past.outcomes.passed,
    )
