"""What late trucks and a hoist that was out cost, as a planner asks; and a bad file of events."""

from __future__ import annotations

from datetime import date

import pytest

from support.command_line import towerpace
from support.site_record import recorded, reporting_site
from towerpace import InputError, ahead, delay, load, update

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


def test_delay_and_update_tell_one_p50_of_every_data_date(files):
    """Both read the record beside the same events, and play the same trials."""
    path, folder = files
    scenario, rows = load(path), {"progress": folder / "progress.csv", "events": folder / "events.csv"}
    moved = delay(scenario, **rows, period="sheet", trials=9).frame("periods")
    result = update(scenario, **rows, trials=9)
    trend = result.frame("trend").drop_duplicates("data_date")["p50"]
    assert [moved["before"].iloc[0], *moved["after"]] == trend.tolist()
    # The hoist that was out leaves the plan with steps that the scenario has not, and the hash as it was.
    assert result.answer.run.hash == scenario.hash
    assert len(result.detail.state.ready.tower.plan.names) > len(reporting_site().tower.plan.names)


def test_an_update_that_is_told_of_events_has_a_record_of_its_own(files):
    path, folder = files
    scenario, sheet, events = load(path), folder / "progress.csv", folder / "events.csv"
    hashes = {
        question(scenario, sheet, events=file, trials=2).answer.fact("record_hash")
        for question in (update, ahead)
        for file in (events, None)
    }
    assert len(hashes) == 2
    assert delay(scenario, sheet, events, trials=2).answer.fact("record_hash") in hashes


def test_of_an_earlier_day_only_what_had_befallen_by_then_is_known(files):
    """Seen on 4 March the hoist is out still; seen on 3 March nobody knows of it."""
    path, folder = files
    sheet = (
        (folder / "progress.csv").read_text(encoding="utf-8").replace("-05,", "-03,").replace("-12,", "-04,")
    )
    early = folder / "early.csv"
    early.write_text(sheet, encoding="utf-8")
    for day, known in ((date(2027, 3, 4), ["trucks", "hoist"]), (date(2027, 3, 3), ["trucks"])):
        answer = delay(load(path), early, folder / "events.csv", at=day, trials=2)
        events = answer.frame("events")
        assert events["event"].tolist() == known
        assert events["until"].isna().tolist()[-1] == (known[-1] == "hoist" or day < date(2027, 3, 4))
    with pytest.raises(InputError, match="2027-03-05; allowed: a day up to the data date"):
        delay(load(path), early, folder / "events.csv", trials=2)
    (folder / "late.csv").write_text(
        EVENTS.split("trucks", 1)[0] + EVENTS.splitlines()[-1] + "\n", encoding="utf-8"
    )
    with pytest.raises(InputError, match="an event that had begun by the data date"):
        delay(load(path), early, folder / "late.csv", at=date(2027, 3, 3), trials=2)
