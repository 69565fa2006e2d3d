"""The record of the demo: it agrees with itself and with the scenario at each of its data dates."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from support.site_record import as_planned_times
from towerpace.answers.prepare import prepare
from towerpace.record.resolve import resolve
from towerpace.record.site_record import read_site_record
from towerpace.scenario import load

DEMO = Path(__file__).parents[2] / "scenarios" / "gannet_wharf"


@pytest.mark.slow
def test_the_record_of_the_demo_contradicts_nothing_and_grows_from_date_to_date():
    ready = prepare(load(DEMO / "scenario.toml"))
    files = {name: DEMO / "record" / f"{name}.csv" for name in ("progress", "log", "wind")}
    record = read_site_record(ready.scenario, ready.tower, **files)
    assert record.progress.days == (date(2027, 6, 25), date(2027, 8, 27), date(2027, 10, 29))
    assert record.hours.known.all()
    planned, panels, pinned = as_planned_times(ready), [], []
    for day in record.progress.days:
        past = resolve(record.as_of(day), ready.tower, planned=planned)
        assert (past.remarks, past.let_go) == ((), ())
        panels.append(past.done["panels"][0])
        pinned.append(int(np.count_nonzero(past.begun >= 0)))
    assert panels == sorted(panels)
    assert panels[0] > 0
    assert pinned[0] < pinned[1] < pinned[2]
    assert past.outcomes.passed
    assert set(past.outcomes.risks) == {"structure stops"}
    set_by_then = np.count_nonzero(past.ended[ready.tower.panels] >= 0)
    assert set_by_then == panels[-1]
