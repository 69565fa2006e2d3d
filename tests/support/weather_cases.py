"""Random plans whose windows have weather limits, with hours some of which break them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import strategies as st

from support.random_plans import cases
from towerpace.climate.hours import Hours
from towerpace.climate.limits import HourLimit
from towerpace.draws import Draw

CAUSES = {"gust": "wind", "rain": "rain", "temperature": "cold"}


@st.composite
def limits(draw):
    """Limits on gusts, rain and cold, with waits around the whole hour."""
    chosen = draw(st.lists(st.sampled_from(["gust", "rain", "temperature"]), max_size=3))
    made = []
    for variable in chosen:
        below = variable == "temperature"
        made.append(
            HourLimit(
                variable,
                variable,
                above=None if below else 10.0,
                below=10.0 if below else None,
                ratio=draw(st.sampled_from([1.0, 0.7, 1.3])) if variable == "gust" else 1.0,
                restart_min=draw(st.sampled_from([0, 1, 20, 59, 60, 61, 130])),
                cause=CAUSES[variable],
            )
        )
    return made


@st.composite
def cases_in_weather(draw):
    """Random plans whose windows have weather limits, and hours some of which break them."""
    plan, drawn = draw(cases())
    windows = tuple(replace(w, limits=draw(limits())) for w in plan.windows)
    n_hours = draw(st.integers(1, 5))
    values = st.lists(st.sampled_from([5.0, 10.0, 14.0]), min_size=n_hours, max_size=n_hours)
    columns = [np.array(draw(values)) for _ in range(3)]
    hours = Hours(columns[0], columns[0], rain_mm=columns[1], temperature_c=columns[2])
    return plan.changed(windows=windows), Draw(drawn.work, drawn.date, drawn.skip, hours)
