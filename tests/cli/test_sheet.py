"""The sheet: only what may be open that week is asked, and it can be read back once it is filled in."""

import csv
import json
from datetime import date
from itertools import product

import numpy as np
import pytest

from support.command_line import towerpace
from support.short_tower import write_short_tower
from support.site_record import recorded, reporting_site
from towerpace import load, sheet
from towerpace.answers.prepare import prepare
from towerpace.engine.fastest import run
from towerpace.faults import InputError
from towerpace.record.site_record import read_site_record

WEEK = 7 * 1440
COMMAND = ("sheet", "--date", "2027-03-12", "--trials", 20)


@pytest.fixture(scope="module")
def tower(tmp_path_factory):
    return write_short_tower(tmp_path_factory.mktemp("tower"))


@pytest.mark.slow
def test_the_file_is_read_back_once_done_is_filled_in(tower, tmp_path):
    out = tmp_path / "sheet"
    finished = towerpace(*COMMAND, tower, "--out", out)
    assert finished.returncode == 0
    assert "fronts may be open in the week from Sat 06 Mar 2027 to Fri 12 Mar 2027" in finished.stdout
    assert (tmp_path / "sheet.html").is_file()
    with (out / "progress.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["date"] for row in rows} == {"2027-03-12"}
    assert {row["done"] for row in rows} == {""}
    panels = [row for row in rows if row["what"] == "panels"]
    assert panels
    panels[0]["done"] = panels[0]["of"]
    with (tmp_path / "filled.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    ready = prepare(load(tower))
    record = read_site_record(ready.scenario, ready.tower, progress=tmp_path / "filled.csv")
    (report,) = record.progress.reports
    assert report.amount.whole
    again = towerpace(*COMMAND, tower, "--progress", tmp_path / "filled.csv", "--json")
    told = json.loads(again.stdout)["tables"]["progress"]
    asked = [(row["what"], row["level"], row["zone"]) for row in told]
    assert ("panels", int(panels[0]["level"]), panels[0]["zone"]) not in asked
    assert len(asked) == len(rows) - 1


def test_who_is_asked_is_open_in_some_trial_of_twenty():
    """By each trial's own diary, front by front."""
    ready, day, trials = reporting_site(), date(2027, 3, 12), 10
    plan, until = ready.tower.plan, 12 * 1440
    diaries = [run(plan, ready.chooser.draw(1, trial)) for trial in range(trials)]
    expected = set()
    for level, zone in product(range(1, 5), ("north", "east")):
        name = f"brackets L{level} {zone}"
        spans = [(diary.started_at(name), diary.finished_at(name)) for diary in diaries]
        if any(begun < until and done >= until - WEEK for begun, done in spans):
            expected.add((level, zone))
    frame = sheet(ready.scenario, day=day, trials=trials).frame("progress")
    brackets = frame[frame["what"] == "brackets"]
    asked = set(zip(brackets["level"], brackets["zone"], strict=True))
    assert asked == expected
    assert 0 < len(expected) < 8


def test_a_front_reported_as_begun_is_asked_whatever_the_trials_say(tmp_path):
    ready = reporting_site()
    recorded(tmp_path, "2027-03-05,brackets,4,east,3,", ready=ready)
    frame = sheet(ready.scenario, day=date(2027, 3, 5), trials=4, progress=tmp_path / "progress.csv").frame(
        "progress"
    )
    row = frame[(frame["level"] == 4) & (frame["zone"] == "east")].iloc[0]
    assert row["last"] == "3 on 05 Mar 2027"
    assert np.isclose(row["chance"], 1.0)


def test_the_numbers_do_not_depend_on_the_workers():
    frames = [
        sheet(reporting_site().scenario, day=date(2027, 3, 12), trials=6, workers=n).frame() for n in (1, 2)
    ]
    assert frames[0].equals(frames[1])


def test_a_week_in_which_nothing_is_open_says_so_and_explains_no_rows():
    """All is done long before August."""
    answer = sheet(reporting_site().scenario, day=date(2027, 8, 31), trials=4).answer
    assert answer.said.startswith("Nobody is asked in the week from Wed 25 Aug 2027 to Tue 31 Aug 2027")
    assert not any("Write how much" in text for chapter in answer.chapters for text in chapter.sentences)


def test_a_day_outside_the_project_is_a_fault(tower):
    with pytest.raises(InputError, match=r"date: found 2026-01-01; allowed: a day from 2027-03-01 to"):
        sheet(load(tower), day=date(2026, 1, 1))


def test_a_sheet_with_faults_is_told_with_its_lines(tower, tmp_path):
    bad = tmp_path / "bad.csv"
    bad.write_text("date,what,level,zone,done\n2027-03-12,panels,1,nord,3\n", encoding="utf-8")
    finished = towerpace(*COMMAND, tower, "--progress", bad)
    assert finished.returncode == 2
    assert 'line 2  zone: found "nord"' in finished.stderr
