"""The calendar of saved answers, read by a reader that shares no code with its writer, and held to RFC 5545.

The reader is the package icalendar; the rules are those of RFC 5545, sections 3.1 and 3.3.11.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from render.made_answer import HOSTILE, KINDS, MADE, NAMES
from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.tables import Column, Fact
from towerpace.faults import InputError
from towerpace.render.folder import save
from towerpace.render.page.calendar_file import calendar_of, folded, text_of, write_calendar
from towerpace.render.page.page import read_parts
from towerpace.render.saved.answer_file import MANIFEST

icalendar = pytest.importorskip("icalendar", reason="icalendar reads what is written without it")

DAY, LATER_DAY = date(2027, 3, 25), date(2027, 12, 31)
GIVEN = (*HOSTILE, "braces {day}")
DAYS = replace(
    NAMES,
    name="days",
    columns=(
        Column("name", Kind.NAME),
        Column("day", Kind.DATE, event="{name} closed", blank="after the horizon"),
    ),
    rows=[(name, DAY) for name in GIVEN] + [("late", None)],
)
UNSAID = replace(DAYS, name="unsaid", columns=(Column("name", Kind.NAME), Column("day", Kind.DATE)))


def dated(*tables, **changed):
    """The answer made by hand, with a table of days."""
    return replace(MADE, tables=[*MADE.tables, DAYS, *tables], **changed)


@pytest.fixture
def parts(tmp_path):
    return read_parts([save(dated(UNSAID), tmp_path / "run", command="by hand", parquet=False)])


def events(content):
    return icalendar.Calendar.from_ical(content).walk("VEVENT")


def test_an_independent_reader_finds_every_day_under_its_name_whatever_that_holds(parts):
    read = [(str(event["SUMMARY"]), event["DTSTART"].dt) for event in events(calendar_of(parts))]

    expected = [(f"Made by hand: {name} closed", DAY) for name in GIVEN]
    assert sorted(read) == sorted(expected)


def test_days_are_whole_days_in_every_zone_and_leave_the_day_free(parts):
    for event in events(calendar_of(parts)):
        assert event["DTSTART"].params["VALUE"] == "DATE"
        assert type(event["DTSTART"].dt) is date
        assert event["DTEND"].dt - event["DTSTART"].dt == timedelta(days=1)  # exclusive, RFC 5545, 3.6.1
        assert event["TRANSP"] == "TRANSPARENT"


def test_no_line_is_longer_than_75_octets_and_each_ends_as_it_must(parts):
    content = calendar_of(parts)
    lines = content.split(b"\r\n")

    assert lines.pop() == b""
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert b"\r" not in content.replace(b"\r\n", b"")
    assert max(map(len, lines)) == 75  # reached, never passed
    for line in lines:
        line.decode()  # no letter is torn apart: every piece is UTF-8 of its own


@pytest.mark.parametrize("letter", ["a", "é", "塔", "\N{DIRECT HIT}"])
@pytest.mark.parametrize("length", [0, 1, 74, 75, 76, 149, 150, 400])
def test_what_was_folded_unfolds_to_the_same_line(letter, length):
    line = "X:" + letter * length
    assert re.sub(rb"\r\n ", b"", folded(line)).decode() == line + "\r\n"


def test_every_separator_within_a_text_is_escaped():
    assert text_of("a,b;c\\d\ne\r\nf\rg") == "a\\,b\\;c\\\\d\\ne\\nf\\ng"
    assert text_of("bell\x07 tab\t null\x00") == "bell tab\t null"
    words = '1;2,3\\n\n"4": \\\\;'
    read = icalendar.Event.from_ical(f"BEGIN:VEVENT\r\nSUMMARY:{text_of(words)}\r\nEND:VEVENT\r\n")
    assert str(read["SUMMARY"]) == words


def test_an_event_keeps_its_uid_while_scenario_seed_and_name_stay(tmp_path):
    def uids(name, answer):
        folder = save(answer, tmp_path / name, command="by hand", parquet=False)
        return [str(event["UID"]) for event in events(calendar_of(read_parts([folder])))]

    first = uids("first", dated())
    assert len(set(first)) == len(GIVEN)
    moved = replace(MADE.run, trials=400, asked=400)
    assert uids("more trials", dated(run=moved)) == first
    for change in ({"seed": 8}, {"hash": "cd" * 32}):
        assert not set(uids(str(change), dated(run=replace(MADE.run, **change)))) & set(first)


def test_two_events_of_one_name_on_two_days_have_two_uids(tmp_path):
    again = replace(DAYS, name="again", rows=[("12", LATER_DAY)])
    folder = save(dated(again), tmp_path / "run", command="by hand", parquet=False)
    uids = [str(event["UID"]) for event in events(calendar_of(read_parts([folder])))]
    assert len(uids) == len(set(uids)) == len(GIVEN) + 1


def test_the_same_results_give_the_same_bytes_stamped_with_their_making(parts):
    content = calendar_of(parts)
    made = datetime.fromisoformat(parts[0].manifest.created_utc)

    assert calendar_of(read_parts([parts[0].folder])) == content
    assert {event["DTSTAMP"].dt for event in events(content)} == {made}
    assert made.astimezone(ZoneInfo("UTC")) == made


def test_banners_cautions_and_days_beyond_the_horizon_are_told(parts):
    (banner,) = MADE.banners
    calendar = icalendar.Calendar.from_ical(calendar_of(parts))
    about = str(calendar["DESCRIPTION"])

    assert about.startswith(banner)
    assert MADE.cautions[0] in about
    assert "Beyond what was played, so in no calendar: late closed." in about
    assert all(str(event["DESCRIPTION"]).startswith(banner) for event in calendar.walk("VEVENT"))
    assert str(calendar["VERSION"]) == "2.0"
    assert str(calendar["X-WR-CALNAME"]) == str(calendar["NAME"]) == "Made by hand"


def test_one_day_that_two_answers_name_is_one_event(tmp_path):
    folders = [save(dated(), tmp_path / name, command="by hand", parquet=False) for name in ("a", "b")]
    assert len(events(calendar_of(read_parts(folders)))) == len(GIVEN)


def test_a_fact_can_be_an_event(tmp_path):
    fact = Fact(Column("target", Kind.DATE, event="date to be met"), DAY)
    folder = save(replace(MADE, facts=[fact]), tmp_path / "run", command="by hand", parquet=False)
    [event] = events(calendar_of(read_parts([folder])))
    assert (str(event["SUMMARY"]), event["DTSTART"].dt) == ("Made by hand: date to be met", DAY)


def test_answers_without_a_date_are_refused(tmp_path):
    late = replace(MADE, tables=[KINDS])
    parts = read_parts([save(late, tmp_path / "run", command="by hand", parquet=False)])
    with pytest.raises(InputError, match="ics: found no dates in the results of made"):
        write_calendar(parts, tmp_path / "made.ics")
    assert (tmp_path / "run" / MANIFEST).is_file()
    assert not (tmp_path / "made.ics").exists()
