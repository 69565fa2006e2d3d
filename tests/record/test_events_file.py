"""Events of a site: what they may say, and what is wrong with a file of them."""

from __future__ import annotations

from datetime import date

import pytest

from support.site_record import recorded, reporting_site
from towerpace.record.effects import Effects, Struck
from towerpace.record.events import EventReader

HEAD = "id,what,level,zone,from,to,effect,owner,note"
SHEET = "2027-03-20,handover,1,,yes,"


def read(folder, *rows, head=HEAD):
    """Events of the reporting site, and faults of its file as people read them."""
    ready = reporting_site()
    record = recorded(folder, SHEET)
    path = folder / "events.csv"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    reader = EventReader(Effects.of(ready.scenario, record.words), record.start, record.at)
    events, faults = reader.read(path, shown_as="events.csv")
    return events, [fault.text() for fault in faults]


@pytest.mark.parametrize(
    ("cells", "struck", "levels", "said"),
    [
        (",,level.2.handover", Struck.HANDOVER, (2,), "handover L2 late"),
        (',,"level.""from 2"".handover"', Struck.HANDOVER, (2, 3, 4), "handover L2 to L4 late"),
        (",north,level.2.delivery", Struck.DELIVERY, (2,), "delivery L2 north late"),
        (",,resource.hoist", Struck.UNIT, (), "hoist out"),
        (",,resource.hoist.away", Struck.UNITS, (), "hoist out"),
        ("1,north,trade.panels", Struck.WORK, (1,), "panels L1 north held"),
        (",,activity.crown", Struck.WORK, (), "crown held"),
    ],
)
def test_what_an_event_strikes_is_said_by_a_key(tmp_path, cells, struck, levels, said):
    level, zone, key = cells.split(",", maxsplit=2)
    (event,), faults = read(tmp_path, f"1,,{level},{zone},2027-03-02,2027-03-05,{key},,")
    assert faults == []
    assert (event.effect.struck, event.effect.levels, event.what) == (struck, levels, said)
    assert event.from_min(date(2027, 3, 1)) == 1440
    assert event.to_min(date(2027, 3, 1), seen_until=99999) == (4 if event.effect.comes_late else 5) * 1440


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("1,,,,2027-02-27,2027-03-05,resource.hoist,,", "from"),
        ("1,,,,2027-03-21,,resource.hoist,,", "a day up to the data date, 2027-03-20"),
        ("1,,,,2027-03-02,2027-03-22,resource.hoist,,", "or an empty cell while it goes on"),
        ("1,,,,2027-03-05,2027-03-02,resource.hoist,,", "a day on or after from, which is 2027-03-05"),
        ("1,,,,2027-03-05,2027-03-05,level.2.handover,,", "changes nothing"),
        ("1,,,,soon,2027-03-05,resource.hoist,,", "a date as 2027-06-25"),
        (",,,,2027-03-02,2027-03-05,resource.hoist,,", "a name or number of the event"),
        ("1,,,,2027-03-02,2027-03-05,resource.hoits,,", "hoist"),
        ("1,,,,2027-03-02,2027-03-05,resource.hoist.count,,", "resource.hoist.away for all units"),
        ("1,,,,2027-03-02,2027-03-05,ressource.hoist,,", "resource"),
        ("1,,,,2027-03-02,2027-03-05,level.9.handover,,", 'a level as level."1".handover'),
        ("1,,,,2027-03-02,2027-03-05,level.2.handovr,,", "handover"),
        ("1,,3,,2027-03-02,2027-03-05,level.2.handover,,", "an empty cell, or 2 as effect says"),
        ("1,,3,,2027-03-02,2027-03-05,resource.hoist,,", "an empty cell, as effect says what was struck"),
        ("1,,1,nort,2027-03-02,2027-03-05,trade.panels,,", "north"),
        ("1,,9,north,2027-03-02,2027-03-05,trade.panels,,", "a level from 1 to 4"),
        ("1,,,,2027-03-02,2027-03-05,trade.panel,,", "panels"),
        ("1,,,,2027-03-02,2027-03-05,hoist out,,", 'level."8".handover'),
    ],
)
def test_a_bad_row_is_one_fault_with_its_line(tmp_path, row, fault):
    events, faults = read(tmp_path, row)
    assert events == ()
    (text,) = faults
    assert "line 2" in text or "2:" in text
    assert fault in text


def test_an_id_stands_once_and_a_file_has_rows_and_columns(tmp_path):
    row = "1,,,,2027-03-02,2027-03-05,resource.hoist,,"
    assert "line 2 bears it too" in read(tmp_path, row, row)[1][0]
    assert "a row an event" in read(tmp_path)[1][0]
    assert "missing column" in read(tmp_path, head=HEAD.replace("effect", "efect"))[1][0]
