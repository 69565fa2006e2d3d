"""Other numbers for single levels and zones: by hand, as if written into the table, and faults."""

import datetime as dt

import pytest

from support import supply_tower
from support.small_site import BASE, LEVELS, TWO_ZONES, at, made, played, written
from towerpace.faults import InputError
from towerpace.scenario import load
from towerpace.scenario.setups import named_setup


def handed_over(folder, *more, base=BASE, levels=LEVELS):
    """Day on which each level is handed over."""
    site = played(made(folder, *more, base=base, levels=levels))
    return [site.diary.finished_at(f"handover of L{level}") / at(1, "0:00") for level in (1, 2, 3)]


def test_a_level_is_handed_over_on_a_day_or_so_many_days_later(tmp_path):
    assert handed_over(tmp_path, "[level.2]\nhandover = 2027-03-08\n[level.3]\nhandover = 9\n") == [0, 7, 9]


def test_levels_from_one_up_slip_each_against_the_one_below(tmp_path):
    """A floor a week becomes one in nine days from level 2 on: 2, then 4 days late."""
    assert handed_over(tmp_path, '[level."from 2"]\nslip_days = 2\n') == [0, 2, 4]
    assert handed_over(tmp_path, '[level."1 to 2"]\nslip_days = 1\n') == [1, 2, 2]


def test_keys_of_a_set_up_are_as_if_the_table_were_another(tmp_path):
    """The same content, the same hash: on level 2, and in one zone of level 1."""
    more = """
[setup.other]
level."2".handover = 3
level."2".difficulty = 1.5
level."1".zone.south.counts.brackets = 20
"""
    changed = named_setup(load(written(tmp_path / "a", more, levels=TWO_ZONES)), "other").scenario
    table = TWO_ZONES.replace("1,south,4.0,1.0,2027-03-01,10", "1,south,4.0,1.0,2027-03-01,20")
    table = table.replace("8.0,1.0,2027-03-01", "8.0,1.5,2027-03-04")
    anew = load(written(tmp_path / "b", more, levels=table))
    assert changed.hash == anew.hash
    assert changed.levels.rows() == anew.levels.rows()


def test_crates_of_one_zone_come_on_another_day(tmp_path):
    levels = supply_tower.levels_of([(1, z, "2027-03-01", "2027-03-01", 2) for z in ("north", "south")])
    ready = supply_tower.prepared(
        tmp_path, levels=levels, changes={'level."1".zone.south.delivery': dt.date(2027, 3, 4)}
    )
    _, _, diary = supply_tower.played(ready)
    begun = [diary.started_at(f"panels L1 {z}: truck 1 unloaded") for z in ("north", "south")]
    assert begun == [supply_tower.at(0, "7:00"), supply_tower.at(3, "7:00")]


WORKS = BASE.replace("slip_days = 0", 'slip_days = 0\ncalendar = "site"')


def test_what_slips_to_a_day_off_is_handed_over_on_the_next_working_day(tmp_path):
    """Five days after Monday is Saturday; the next Monday is a holiday, so Tuesday. A stated day stays."""
    off = WORKS.replace("[calendar.site]", "[calendar.site]\nclosed = [2027-03-08]")
    assert handed_over(tmp_path, "[level.1]\nhandover = 5\n[level.2]\nhandover = 2027-03-06\n", base=off) == [
        8, 8, 8,
    ]  # fmt: skip
    drawn = off.replace("slip_days = 0", "slip_days = 2.6")
    # 2.6 days is Wednesday at 14:24; 5.2 days Saturday, so Tuesday; 7.8 days the holiday, so the same.
    assert handed_over(tmp_path, base=drawn) == [2.6, 8, 8]
    free = drawn.replace('calendar = "site"\n\n[resource', "\n[resource")
    assert handed_over(tmp_path, base=free) == pytest.approx([2.6, 5.2, 7.8])


def test_a_risk_that_makes_a_level_late_keeps_to_the_working_days(tmp_path):
    risk = """
[[risk]]
name = "formwork"
on = "handover"
level = 2
chance = 1
delay_days = 5
"""
    assert handed_over(tmp_path, risk, base=WORKS) == [0, 7, 7]
    assert handed_over(tmp_path, risk) == [0, 5, 5]


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ('level."4".handover = 3', 'level.4: found "4"; allowed: a level as "1", levels as "1 to 3"'),
        ('level."form 2".slip_days = 3', 'level."form 2": found "form 2"'),
        ('level."1".zone.nort.difficulty = 2', 'zone.nort: found "nort"; allowed: north; nearest: north'),
        ('level."1".counts.braket = 2', 'counts.braket: found "braket"'),
        (
            'level."1".handover = 2027-02-01',
            "level.1.handover: found 2027-02-01; allowed: a date on or after",
        ),
        ('level."1".handover = 1.5', "level.1.handover: found 1.5; allowed: a date as"),
        ('level."1".delivery = 3', "level.1.delivery: found 3; allowed: delivery only where"),
        ('level."1".slip_day = 3', "nearest: slip_days"),
        ('structure.calendar = "sit"', 'found "sit"; allowed: site; nearest: site'),
    ],
)
def test_keys_that_have_no_place_are_told_at_their_line(tmp_path, keys, said):
    path = written(tmp_path, f"[setup.other]\n{keys}\n")
    with pytest.raises(InputError) as refused:
        named_setup(load(path), "other")
    line = path.read_text(encoding="utf-8").splitlines().index(keys) + 1
    assert said in str(refused.value)
    assert f"line {line}" in str(refused.value) or f":{line}" in str(refused.value)
