"""Days off from iCalendar files and by country, against published lists and the rules of RFC 5545.

Sources: the bank holidays of England and Wales 2025 as published by the government of the United Kingdom (the
page "UK bank holidays", from memory), the dates of Easter by dateutil, working days by numpy's business days.
"""

import datetime as dt
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest
from dateutil.easter import easter

from towerpace import Plan, Step, Window, run
from towerpace.plan.site.working_hours import calendar_shifts
from towerpace.scenario.schema import Calendar

ENGLAND_2025 = ["01-01", "04-18", "04-21", "05-05", "05-26", "08-25", "12-25", "12-26"]
YEAR = ["--from", "2025-01-01", "--to", "2025-12-31"]
PROJECT = ["--from", "2027-03-01", "--to", "2029-01-31"]


def ics(*events, path="off.ics", other=""):
    """An iCalendar file; an event is its lines without the frame, named by its summary."""
    framed = [
        f"BEGIN:VEVENT\nUID:{k}@test\nDTSTAMP:20250101T000000Z\n{event}\nEND:VEVENT"
        for k, event in enumerate(events)
    ]
    text = "\n".join(
        ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//test//EN", *framed, other, "END:VCALENDAR"]
    )
    lines = [line for line in text.split("\n") if line]
    Path(path).write_bytes(("\r\n".join(lines) + "\r\n").encode())
    return path


def whole(name, start, end=None, *more):
    days = [f"SUMMARY:{name}", f"DTSTART;VALUE=DATE:{start}"]
    return "\n".join([*days, *([f"DTEND;VALUE=DATE:{end}"] if end else []), *more])


def brought():
    return tomllib.loads(Path("calendar.toml").read_text(encoding="utf-8"))


def test_england_2025_has_the_eight_published_days(bring):
    run_ = bring("calendar", "--country", "GB", "--region", "ENG", *YEAR)
    assert [f"{day:%m-%d}" for day in brought()["closed"]] == ENGLAND_2025
    assert "8 public holidays: 8 brought in, none left out" in run_.text
    assert "Fri 18 Apr 2025  Good Friday" in run_.text
    assert brought()["source"].startswith("public holidays of GB, ENG by the library holidays ")


def test_good_friday_and_easter_monday_are_where_easter_puts_them(bring):
    bring("calendar", "--country", "GB", "--region", "ENG", "--from", "2024-01-01", "--to", "2034-12-31")
    closed = set(brought()["closed"])
    for year in range(2024, 2035):
        assert {easter(year) - dt.timedelta(days=2), easter(year) + dt.timedelta(days=1)} <= closed


def test_fifteen_working_days_over_easter_end_on_the_published_day(bring):
    """The published check on the engine's calendar, its days off from an iCalendar file this time."""
    days = [whole(f"Bank holiday {k}", f"2025{day.replace('-', '')}") for k, day in enumerate(ENGLAND_2025)]
    bring("calendar", ics(*days), *YEAR)
    week = dict.fromkeys(("mon", "tue", "wed", "thu", "fri"), ("08:00-12:00", "12:30-16:30"))
    calendar = Calendar.model_validate({"week": week, "closed": tuple(brought()["closed"])})
    start = dt.date(2025, 3, 31)
    task = Step("task", work=15 * 480, window="site", mode="work")
    diary = run(Plan([task], windows=[Window("site", calendar_shifts(calendar, start=start, days=60))]))

    finish = start + dt.timedelta(days=int(diary.finish) // 1440)

    assert finish == dt.date(2025, 4, 22)
    holidays = [np.datetime64(f"2025-{day}") for day in ENGLAND_2025]
    assert np.busday_offset(np.datetime64(start), 14, holidays=holidays) == np.datetime64(finish)


def test_an_end_is_exclusive_and_a_shutdown_is_a_span(bring):
    run_ = bring(
        "calendar", ics(whole("Shutdown", "20271224", "20280104"), whole("Pour", "20270601")), *PROJECT
    )
    assert brought()["closed_spans"] == [
        {"from": dt.date(2027, 12, 24), "to": dt.date(2028, 1, 3), "source": "Shutdown"}
    ]
    assert brought()["closed"] == [dt.date(2027, 6, 1)]
    assert "Fri 24 Dec 2027 to Mon 03 Jan 2028  Shutdown" in run_.text


def test_an_event_of_some_days_by_its_duration(bring):
    bring("calendar", ics(whole("Regatta", "20270701", None, "DURATION:P3D")), *PROJECT)
    assert brought()["closed_spans"][0]["to"] == dt.date(2027, 7, 3)


def test_repetitions_run_by_their_rule_without_the_exceptions(bring):
    rule = "RRULE:FREQ=YEARLY;BYMONTH=5;BYDAY=1MO"
    bring("calendar", ics(whole("Early May", "20270503", None, rule, "EXDATE;VALUE=DATE:20280501")), *PROJECT)
    assert brought()["closed"] == [dt.date(2027, 5, 3)]


def test_a_first_day_that_its_rule_does_not_name_is_warned_of(bring):
    rule = "RRULE:FREQ=YEARLY;BYMONTH=5;BYDAY=1MO"
    run_ = bring("calendar", ics(whole("Early May", "20270501", None, rule)), *PROJECT)
    assert brought()["closed"] == [dt.date(2027, 5, 1), dt.date(2027, 5, 3), dt.date(2028, 5, 1)]
    assert "! Early May: Sat 01 May 2027 is off as its first day, though its rule does" in run_.text


def test_one_repetition_that_is_called_off_or_moved(bring):
    rule = "RRULE:FREQ=YEARLY"
    off = "UID:0@test\nRECURRENCE-ID;VALUE=DATE:20280601\nSUMMARY:Day\nDTSTART;VALUE=DATE:20280602"
    path = ics(whole("Day", "20270601", None, rule), other=f"BEGIN:VEVENT\n{off}\nEND:VEVENT")
    bring("calendar", path, *PROJECT)
    assert brought()["closed"] == [dt.date(2027, 6, 1), dt.date(2028, 6, 2)]


def test_cancelled_free_and_outside_are_left_out_and_the_sums_close(bring):
    events = [
        whole("Kept", "20270601"),
        whole("Off", "20270602", None, "STATUS:CANCELLED"),
        whole("Birthday", "20270603", None, "TRANSP:TRANSPARENT"),
        whole("Long ago", "20170603"),
    ]
    todo = "BEGIN:VTODO\nUID:t\nDTSTAMP:20250101T000000Z\nSUMMARY:Order\nEND:VTODO"
    run_ = bring("calendar", ics(*events, other=todo), *PROJECT)
    assert brought()["closed"] == [dt.date(2027, 6, 1)]
    assert "5 entries: 1 brought in, 4 left out" in run_.text
    assert "3 occurrences: 1 brought in, 2 left out (1 cancelled, 1 free time)" in run_.text
    left_out = tomllib.loads(Path("calendar.provenance.toml").read_text())["sums"]["left_out"]
    assert left_out == [
        "cancelled: Wed 02 Jun 2027  Off",
        "free time: Thu 03 Jun 2027  Birthday",
        "outside the project: Long ago",
    ]


TIMED = "SUMMARY:Pour\nDTSTART;TZID=Europe/London:20270602T080000\nDTEND;TZID=Europe/London:20270603T000000"


def test_an_event_at_a_time_of_day_is_asked_about(bring):
    path = ics(TIMED, whole("Kept", "20270601"))
    assert (
        "Wed 02 Jun 2027  Pour: found 08:00 to 00:00; allowed: whole days, or --timed"
        in bring("calendar", path, *PROJECT).faults
    )
    assert "1 at a time of day" in bring("calendar", path, *PROJECT, "--timed", "leave-out").text
    bring("calendar", path, *PROJECT, "--timed", "whole-days", "--replace")
    assert brought()["closed"] == [dt.date(2027, 6, 1), dt.date(2027, 6, 2)]
    assert "closed_spans" not in brought()


def test_two_reasons_for_one_day_are_one_day_with_both(bring):
    run_ = bring("calendar", ics(whole("Eid", "20270601"), whole("Regatta", "20270601")), *PROJECT)
    assert brought()["closed"] == [dt.date(2027, 6, 1)]
    assert "Tue 01 Jun 2027  Eid; Regatta" in run_.text


BAD = {
    "no iCalendar": (lambda: Path("off.ics").write_text("Dear all,"), "file: found no iCalendar"),
    "no event": (
        lambda: ics(other="BEGIN:VTODO\nUID:t\nDTSTAMP:20250101T000000Z\nEND:VTODO"),
        "VEVENT: found no VEVENT, only VTODO",
    ),
    "a zone nobody defines": (
        lambda: ics(TIMED.replace("Europe/London", "Site time")),
        'Pour, TZID: found "Site time"; allowed: a zone that the file defines',
    ),
    "nothing inside the project": (
        lambda: ics(whole("Long ago", "20170603")),
        "no day off among 1 events; allowed: events between Mon 01 Mar 2027 and Wed 31 Jan 2029",
    ),
    "an end before the start": (
        lambda: ics(whole("Some day", "20270601", "20270501")),
        "Some day, DTEND: found 2027-05-01, before 2027-06-01",
    ),
    "a rule without a frequency": (
        lambda: ics(whole("Some day", "20270601", None, "RRULE:COUNT=2")),
        "Some day, RRULE: missing; allowed: DAILY, WEEKLY, MONTHLY, YEARLY",
    ),
    "a rule within the day": (
        lambda: ics(whole("Some day", "20270601", None, "RRULE:FREQ=MINUTELY")),
        "Some day, RRULE: found MINUTELY",
    ),
    "a time without a day": (
        lambda: ics("SUMMARY:Some day\nDTSTART;VALUE=TIME:080000"),
        "Some day, DTSTART: found 08:00:00; allowed: a date",
    ),
    "no start": (lambda: ics("SUMMARY:Some day"), "Some day, DTSTART: missing"),
    "a broken start": (
        lambda: ics(whole("Some day", "tomorrow")),
        "Some day, DTSTART: found ",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_wrong_is_one_clear_fault(name, bring):
    write, said = BAD[name]
    write()
    assert said in bring("calendar", "off.ics", *PROJECT).faults


def test_a_country_or_region_that_is_not_known(bring):
    assert '--country: found "UKK"' in bring("calendar", "--country", "UKK", *YEAR).faults
    assert (
        '--region: found "LON"; allowed: ENG, NIR, SCT, WLS'
        in bring("calendar", "--country", "GB", "--region", "LON", *YEAR).faults
    )
    assert "GB has regions of its own holidays" in bring("calendar", "--country", "GB", *YEAR).text


def test_a_file_or_a_country_and_in_order(bring):
    assert 'FILE: found "none"; allowed: a file or --country' in bring("calendar", *YEAR).faults
    assert (
        "--to: found"
        in bring("calendar", "--country", "GB", "--from", "2025-02-01", "--to", "2025-01-01").faults
    )


@pytest.mark.parametrize("name", ["icalendar", "recurring_ical_events"])
def test_a_missing_library_names_its_extra(name, bring, monkeypatch):
    path = ics(whole("Kept", "20270601"))
    monkeypatch.setitem(sys.modules, name, None)
    assert (
        f"missing library {name}; allowed: pip install 'towerpace[calendar]'"
        in bring("calendar", path, *PROJECT).faults
    )


def test_odd_letters_of_a_name_do_not_break_the_file(bring):
    bring("calendar", ics(whole('Tab\\n"quoted"\x07\x7f# day', "20270601", "20270603")), *PROJECT)
    assert brought()["closed_spans"][0]["source"] == 'Tab "quoted" # day'
