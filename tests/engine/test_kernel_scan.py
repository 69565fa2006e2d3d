"""The window scanned from the weather against its open spans, minute for minute."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from support.compiler import compiled_here
from towerpace import Plan, Step, Window
from towerpace.climate.hours import Hours
from towerpace.climate.limits import HourLimit
from towerpace.engine.kernel.air import Air, air_of
from towerpace.engine.kernel.scan import done, next_start
from towerpace.engine.kernel.tables import compiled
from towerpace.engine.kernel.trial import windows_in
from towerpace.engine.openings import Opening

MINUTES = 600
NEXT_START, DONE, UNBROKEN = range(3)


@compiled_here
def ask(scanned, question, minutes, length):
    """One question of window 0 at every minute, in order, NONE where there is no answer."""
    answers = np.empty(len(minutes), dtype=np.int64)
    for k, minute in enumerate(minutes):
        if question == NEXT_START:
            answers[k] = next_start(scanned, 0, minute, length)
        else:
            answers[k] = done(scanned, 0, minute, length, question == UNBROKEN)
    return answers


def limit(variable, *, restart_min=0, bound=10.0, ratio=1.0):
    below = variable in ("temperature", "visibility")
    return HourLimit(
        variable,
        variable,
        above=None if below else bound,
        below=bound if below else None,
        ratio=ratio,
        restart_min=restart_min,
        cause="wind",
    )


def assert_scanned_like_spans(window, hours, *, horizon, air=None):
    plan = Plan([Step("s", work=1, window=window.name, mode="work")], windows=[window], horizon=horizon)
    opening = Opening(window, hours=hours, horizon=horizon)
    tables = compiled(plan)
    air = air_of(hours, tables.variables) if air is None else air
    minutes = np.arange(horizon + 1)
    for length in (0, 1, 29, 60, 75, 200):
        asked = {
            NEXT_START: [opening.next_start(m, length) for m in minutes.tolist()],
            DONE: [opening.done(m, length) for m in minutes.tolist()],
            UNBROKEN: [opening.done_unbroken(m, length) for m in minutes.tolist()],
        }
        for question, expected in asked.items():
            actual = ask(windows_in(tables.start.windows, air), question, minutes, length)
            assert actual.tolist() == [-1 if e is None else e for e in expected], (question, length)


@st.composite
def spans(draw, most):
    edges = sorted(draw(st.lists(st.integers(0, MINUTES + 60), max_size=most)))
    return [(a, b) for a, b in zip(edges[0::2], edges[1::2], strict=False) if b > a]


@st.composite
def windows(draw):
    chosen = draw(st.lists(st.sampled_from(["gust", "rain", "temperature", "thunder"]), max_size=3))
    made = [
        limit(
            variable,
            restart_min=draw(st.sampled_from([0, 1, 20, 59, 60, 61, 119, 120, 121, 300])),
            bound=0.5 if variable == "thunder" else 10.0,
            ratio=draw(st.sampled_from([1.0, 0.7, 1.3])) if variable == "gust" else 1.0,
        )
        for variable in chosen
    ]
    return Window("w", draw(spans(10)), limits=made, stops=draw(spans(6)))


@st.composite
def weathers(draw):
    n = draw(st.integers(1, 12))
    values = st.lists(st.sampled_from([5.0, 8.0, 10.0, 12.0, 15.0, np.nan]), min_size=n, max_size=n)
    gust, rain, temperature = (np.array(draw(values)) for _ in range(3))
    thunder = np.array(draw(st.lists(st.booleans(), min_size=n, max_size=n)))
    return Hours(gust, gust, temperature_c=temperature, rain_mm=rain, thunder=thunder)


@given(windows(), weathers(), st.sampled_from([300, MINUTES]))
@settings(max_examples=300, deadline=None, derandomize=True)
@example(Window("w", []), Hours(np.ones(1), np.ones(1)), 300)
def test_random_windows_in_random_weather_answer_like_their_spans(window, hours, horizon):
    assert_scanned_like_spans(window, hours, horizon=horizon)


GUSTS = np.array([12.0, 5, 5, 12, 5, 5, 5, 12, 12, 5])


@pytest.mark.parametrize("restart_min", [0, 1, 59, 60, 61, 119, 120, 121, 179, 180, 181])
def test_a_clear_gap_no_longer_than_the_wait_is_no_gap(restart_min):
    window = Window("w", [(0, 600)], limits=[limit("gust", restart_min=restart_min)])
    assert_scanned_like_spans(window, Hours(GUSTS, GUSTS), horizon=600)


@pytest.mark.parametrize("begins", [59, 60, 61, 79, 80, 81])
def test_a_stop_may_begin_before_the_shift_and_reach_into_it(begins):
    window = Window("w", [(begins, 300)], limits=[limit("gust", restart_min=20)])
    assert_scanned_like_spans(window, Hours(GUSTS, GUSTS), horizon=600)


def test_hours_after_the_last_are_clear_but_its_wait_still_runs():
    bad = np.array([5.0, 12.0])
    window = Window("w", [(0, 600)], limits=[limit("gust", restart_min=90)])
    assert_scanned_like_spans(window, Hours(bad, bad), horizon=600)


def test_shifts_that_touch_are_one_piece_for_unbroken_work():
    window = Window("w", [(0, 60), (60, 120), (130, 250), (250, 290)], stops=[(255, 260)])
    assert_scanned_like_spans(window, None, horizon=300)


@pytest.mark.parametrize("ratio", [0.55, 1.1, 1.3, 1.37])
def test_a_value_is_held_against_the_bound_to_the_last_bit(ratio):
    steps = np.arange(-12, 13)
    near = 1.9 + steps * np.spacing(1.9)
    bound = float(ratio * near[12])
    # The same rule with the ratio on the other side of the sign is another rule for some of these values.
    assert np.any((ratio * near > bound) != (near > bound / ratio))
    window = Window("w", [(0, 1500)], limits=[limit("gust", bound=bound, ratio=ratio)])
    assert_scanned_like_spans(window, Hours(near, near), horizon=1500)


def test_days_dealt_from_a_record_with_factors_are_scanned_like_the_hours_made_of_them():
    rng = np.random.default_rng(5)
    record = rng.uniform(0, 20, (2, 5 * 24))
    rows, factors = np.array([3, 0, 4, 4]), np.array([1.0, 0.9, 1.2, 0.8])
    gust, rain = (column.reshape(5, 24)[rows].reshape(-1) for column in record)
    windy = gust * np.repeat(factors, 24)
    limits = [limit("gust", restart_min=20, bound=21.0, ratio=1.3), limit("rain", restart_min=60, bound=19.5)]
    assert np.any((1.3 * windy > 21.0) != (1.3 * gust > 21.0))  # the factors do matter
    window = Window("w", [(0, 5760)], limits=limits)
    assert_scanned_like_spans(
        window, Hours(windy, windy, rain_mm=rain), horizon=5760, air=Air(record, rows, factors, 96)
    )
