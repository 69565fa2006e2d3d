"""What late trucks and a hoist that was out cost, as a planner asks; and a bad file of events."""

from __future__ import annotations

import pytest

from support.command_line import towerpace
from support.site_record import recorded, reporting_site

SHEET = """2027-03-05,handover,1,,yes,
2027-03-05,handover,2,,yes,
2027-03-05,brackets,1,north,all,
2027-03-12,handover,3,,yes,
2027-03-12,panels,1,north,9,
2027-03-12,trucks_in,1,north,all,
2027-03-12,brackets,1,east,all,
2027-03-12,mock_up,,,passed,"""
EVENTS = """id,what,level,zone,from,to,effect,owner,note
trucks,,,north,2027-03-01,2027-03-04,level.1.delivery,maker,
hoist,,,,2027-03-04,2027-03-05,resource.hoist,hirer,
"""


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("delayed")
    recorded(folder, SHEET)
    (folder / "events.csv").write_text(EVENTS, encoding="utf-8")
    return reporting_site().scenario.path, folder


def asked(files, *more, events="events.csv"):
    path, folder = files
    sheet = ("--progress", folder / "progress.csv", "--events", folder / events, "--trials", 2)
    return towerpace("delay", path, *sheet, *more)


def test_events_have_their_days_in_80_columns(files):
    run = asked(files)
    assert run.returncode == 0, run.stderr
    assert max(map(len, run.stdout.splitlines())) <= 80
    for said in ("no entitlement", "not explained by the model", "delivery L1 north late", "hoist out"):
        assert said in " ".join(run.stdout.split())


def test_a_file_of_events_with_a_fault_is_refused_with_its_line(files):
    _, folder = files
    bad = EVENTS.replace("resource.hoist", "resource.hoits")
    (folder / "bad.csv").write_text(bad, encoding="utf-8")
    run = asked(files, events="bad.csv")
    assert run.returncode == 2
    assert 'line 3  effect: found "resource.hoits"' in run.stderr.replace(
        "resource.hoits;", '"resource.hoits";'
    )
