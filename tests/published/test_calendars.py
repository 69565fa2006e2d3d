"""Working days through the calendar of a scenario and the engine, against numpy's business days.

Oracles: numpy.busday_offset and numpy.busday_count, which know nothing of this project; the dates of Easter
by dateutil; the bank holidays of England and Wales as published by the government of the United Kingdom (the
page "UK bank holidays", from memory), with the number of working days that follows from them.
"""

from datetime import date, timedelta

import numpy as np
import pytest
from dateutil.easter import easter

from towerpace import Plan, Step, Window
from towerpace.draws import stream
from towerpace.engine.reference import run
from towerpace.plan.site.working_hours import calendar_shifts
from towerpace.scenario.schema import Calendar

BANK_HOLIDAYS = {
    2024: ["01-01", "03-29", "04-01", "05-06", "05-27", "08-26", "12-25", "12-26"],
    2025: ["01-01", "04-18", "04-21", "05-05", "05-26", "08-25", "12-25", "12-26"],
}
CLOSED = tuple(date.fromisoformat(f"{year}-{day}") for year, days in BANK_HOLIDAYS.items() for day in days)
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
DAY_MIN, SHIFT_MIN = 1440, 480


def calendar(*, mask="1111100", closed=CLOSED, spans=()):
    """Eight hours a day in two halves on the days of the mask, as a scenario file would say it."""
    hours = ("08:00-12:00", "12:30-16:30")
    week = {day: hours for day, open_ in zip(DAYS, mask, strict=True) if open_ == "1"}
    return Calendar.model_validate({"week": week, "closed": closed, "closed_spans": spans})


def played(steps, *, start, days, **words):
    """The steps in mode work on the calendar from a first day on."""
    window = Window("site", calendar_shifts(calendar(**words), start=start, days=days))
    return run(Plan(steps, windows=[window]))


def on(minute, *, start):
    return start + timedelta(days=int(minute) // DAY_MIN)


def test_fifteen_working_days_over_easter_end_on_the_published_day(stand):
    """From Monday 2025-03-31 to Tuesday 2025-04-22; the next task begins on Wednesday 2025-04-23."""
    start = date(2025, 3, 31)
    task = Step("task", work=15 * SHIFT_MIN, window="site", mode="work")
    following = Step("next", work=60, after=["task"], window="site", mode="work")
    diary = played([task, following], start=start, days=60)
    assert on(diary.started_at("task"), start=start) == start
    got = str(on(diary.finished_at("task"), start=start))
    check = "15 working days over Easter from 2025-03-31 in England"
    stand(check, "UK bank holidays; numpy business days", expected="2025-04-22", got=got)
    assert on(diary.started_at("next"), start=start) == date(2025, 4, 23)
    assert diary.finished_at("task") % DAY_MIN == 16 * 60 + 30


@pytest.mark.parametrize(("year", "working_days"), [(2024, 254), (2025, 253)])
def test_years_have_their_published_working_days(year, working_days, stand):
    start, days = date(year, 1, 1), (date(year + 1, 1, 1) - date(year, 1, 1)).days
    shifts = calendar_shifts(calendar(), start=start, days=days)
    check = f"working days of {year} in England"
    stand(check, "UK bank holidays; numpy business days", expected=working_days, got=len(shifts) / 2)
    assert int(np.diff(shifts).sum()) == working_days * SHIFT_MIN
    count = np.busday_count(start, date(year + 1, 1, 1), holidays=np.array(CLOSED, dtype="datetime64[D]"))
    assert count == working_days


def test_good_friday_and_easter_monday_are_where_easter_puts_them():
    """Easter 2023 to 2030 as published; dateutil by the anonymous Gregorian rule."""
    published = ["04-09", "03-31", "04-20", "04-05", "03-28", "04-16", "04-01", "04-21"]
    assert [f"{easter(2023 + k):%m-%d}" for k in range(8)] == published
    for year in BANK_HOLIDAYS:
        assert {easter(year) - timedelta(days=2), easter(year) + timedelta(days=1)} <= set(CLOSED)


@pytest.mark.parametrize("mask", ["1111100", "1111110", "0111110", "1010100"])
def test_tasks_of_any_length_end_on_the_business_day_that_numpy_counts(mask, stand):
    """400 tasks of 1 to 60 days from any day of the two years, all steps of one plan."""
    start, rng = date(2024, 1, 1), stream(51, 0, mask)
    first, lengths = rng.integers(0, 560, 400), rng.integers(1, 61, 400)
    steps = [
        Step(f"task {k}", work=int(n) * SHIFT_MIN, date=int(day) * DAY_MIN, window="site", mode="work")
        for k, (day, n) in enumerate(zip(first, lengths, strict=True))
    ]
    diary = played(steps, start=start, days=731, mask=mask)
    holidays = np.array(CLOSED, dtype="datetime64[D]")
    days = np.datetime64(start) + first
    begin = np.busday_offset(days, 0, roll="forward", weekmask=mask, holidays=holidays)
    end = np.busday_offset(begin, lengths - 1, weekmask=mask, holidays=holidays)
    assert np.array_equal(np.datetime64(start) + diary.started // DAY_MIN, begin)
    equal = int((np.datetime64(start) + diary.finished // DAY_MIN == end).sum())
    assert equal == 400
    if mask == "1111110":
        check = "tasks of 1 to 60 days in weeks of six, of 400 with the end numpy counts"
        stand(check, "numpy.busday_offset", expected=400, got=equal)


def test_a_winter_shutdown_is_as_many_holidays():
    """A closed span counts both its ends: 24 December to 2 January."""
    start = date(2024, 12, 20)
    span = {"from": date(2024, 12, 24), "to": date(2025, 1, 2)}
    task = Step("task", work=3 * SHIFT_MIN, window="site", mode="work")
    diary = played([task], start=start, days=30, closed=(), spans=(span,))
    holidays = np.datetime64("2024-12-24") + np.arange(10)
    expected = np.busday_offset(np.datetime64(start), 2, holidays=holidays)
    assert np.datetime64(on(diary.finish, start=start)) == expected == np.datetime64("2025-01-03")
