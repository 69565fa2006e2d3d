"""Forecasts that are right by construction, and sites that mark them: one more trial of the same law."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from support import updated_site
from support.logged_site import Truth
from towerpace.answers.prepare import Prepared
from towerpace.answers.score.score import WHOLE, Came, Earlier, Marked
from towerpace.engine.fastest import run
from towerpace.plan.chance import Known
from towerpace.plan.learned import LearnedPaces, front_numbers
from towerpace.units import DAY_MIN, Floats

RECORD = Path(__file__).parents[2] / "scenarios" / "weather" / "laguardia_2013_hourly.csv"
CLOSING_IN = '\n[closing_in]\ntrades = ["cassettes", "seal"]\n'


def write_site(folder: Path) -> Path:
    """Twelve levels of four zones, four trades of gangs, two of which the wind stops; levels close in."""
    updated_site.write_site(folder, record=RECORD)
    path = folder / "scenario.toml"
    path.write_text(path.read_text(encoding="utf-8") + CLOSING_IN, encoding="utf-8")
    return path


def days_of(
    ready: Prepared, *, seed: int, trials: range, truths: Mapping[str, Truth] | None = None
) -> Floats:
    """Days from the first to the finish and to each closing-in of some trials, (n, 1 + n_levels).

    truths : paces of the trades in them, in place of what is stated.
    """
    plan, chooser = ready.tower.plan, ready.chooser
    if truths is not None:
        chooser = replace(chooser, known=Known(learned=LearnedPaces(truths, front_numbers(plan))))
    rows = []
    for trial in trials:
        diary = run(plan, chooser.draw(seed, trial))
        ends = np.array([diary.finish, *diary.finished[ready.tower.closing_in]], dtype=np.float64)
        rows.append(np.where(ends < 0, np.inf, np.maximum(0, ends - 1) // DAY_MIN))
    return np.array(rows)


def marked(ready: Prepared, forecast: Floats, site: Floats, *, seen: int) -> Marked:
    """A forecast from the start beside a site that was seen up to a day.

    forecast : (n, k) days. site : (k,). seen : the last day, from 0.
    """
    days = np.where(site <= seen, site, np.inf)
    levels = (WHOLE, *ready.tower.levels[: len(site) - 1])
    came = Came(levels, days, np.ones(len(site), dtype=np.bool_), seen)
    earlier = Earlier("start", None, None, forecast)
    return Marked.of(earlier, came, start=ready.tower.start)
