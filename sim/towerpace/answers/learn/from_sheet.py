"""Paces learned from a progress sheet without times, by trials played up to its date."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from towerpace.answers.learn.counts import FromCounts, from_counts
from towerpace.engine.diary import NEVER, Diary
from towerpace.plan.laws import Durations
from towerpace.plan.site.tower import Tower
from towerpace.units import Floats


def shares_done(diary: Diary, *, at: int) -> Floats:
    """Share of each step that was done by a minute, (n,). [-]

    Of a step that was going on, the share of the time it took: as near as a foreman says it.
    """
    started, finished = diary.started.astype(np.float64), diary.finished.astype(np.float64)
    begun = (diary.started != NEVER) & (diary.started < at)
    done = (diary.finished != NEVER) & (diary.finished <= at)
    part = np.clip((at - started) / np.maximum(finished - started, 1), 0.0, 1.0)
    part[diary.finished == NEVER] = 0.0
    return np.where(done, 1.0, np.where(begun, part, 0.0))


def learn_sheet(
    tower: Tower, *, paces: Floats, played: Sequence[Floats], seen: Floats
) -> dict[str, FromCounts]:
    """Level of each trade, given the share of every step that the site has done.

    paces : (n_trials, n_trades) of trials played up to the data date, on the weather of the site and with the
        levels handed over as on the site. [-]
    played : the shares of each of these trials, (n,) each. seen : (n,) those of the site. [-]

    Notes
    -----
    What is counted is work: the planned minutes of what is done, trade by trade, which is units times what
    one takes as stated.
    """
    weights = _planned_by_trade(tower)
    units = np.stack([weights @ shares for shares in played])
    told = from_counts(paces, units, seen=weights @ seen)
    return dict(zip(tower.trades, told, strict=True))


def _planned_by_trade(tower: Tower) -> Floats:
    """Planned minutes of the steps that the pace of each trade stretches, (n_trades, n). [min]"""
    weights = np.zeros((len(tower.trades), tower.plan.n))
    for law in tower.laws:
        for work in law.work if isinstance(law, Durations) else ():
            if work.pace is not None:
                steps = work.steps[tower.plan.planned[work.steps]]
                weights[tower.trades.index(work.pace), steps] = tower.plan.work[steps]
    return weights
