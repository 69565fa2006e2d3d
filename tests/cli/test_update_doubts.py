"""What is let through in an update is told in its tables: a slow trade, weather that nobody tells."""

import datetime as dt

import pytest

from support.updated_site import write_site
from support.wharf_in_small import RECORD
from towerpace import update

START = dt.datetime(2027, 3, 1, 7)
SHEET = "date,what,level,zone,done\n" + "".join(
    f"2027-03-12,{trade},{level},{zone},all\n"
    for trade, levels in (("brackets", (1, 2)), ("framing", (1,)))
    for level in levels
    for zone in ("north", "east", "south", "west")
)


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    folder = tmp_path_factory.mktemp("doubts")
    ready = write_site(folder, record=RECORD)
    (folder / "progress.csv").write_text(SHEET, encoding="utf-8")
    rows = ["what,level,zone,panel,start,finish"]
    for k, (level, zone) in enumerate((level, zone) for level in (1, 2) for zone in ("north", "east")):
        first = START + dt.timedelta(days=k)
        last = first + dt.timedelta(days=3)
        rows += [f"brackets,{level},{zone},,{first.isoformat()},{last.isoformat()}"]
    zones = ("north", "east", "south", "west")
    rows += [f"framing,1,{zone},,2027-03-08T07:00,2027-03-12T16:00" for zone in zones]
    (folder / "log.csv").write_text("\n".join([*rows, ""]), encoding="utf-8")
    return ready.scenario, folder


def test_without_wind_what_weather_stops_is_learned_from_the_counts_beside_a_log(site):
    """Framing works inside and is learned from the log; brackets have a wind limit, and nobody measured."""
    scenario, folder = site
    result = update(scenario, folder / "progress.csv", log=folder / "log.csv", trials=2)
    learned = result.frame("learned").set_index("trade")
    assert learned["learned_from"].to_dict() == {
        "brackets": "counts",
        "cassettes": "nothing yet",
        "seal": "nothing yet",
        "framing": "log",
    }
    assert learned.loc["brackets", "remark"] == "weather not told"
    assert learned.loc["brackets", "level_high"] < 3
    said = " ".join(sentence for chapter in result.answer.chapters for sentence in chapter.sentences)
    assert "Learned from the counts of the sheet instead: brackets." in said


def test_a_site_slower_than_any_stated_pace_overrules_it(site):
    """Twenty units of 35 minutes in five days of nine and a half hours: 4 times as stated, at most 1.5."""
    scenario, folder = site
    result = update(scenario, folder / "progress.csv", log=folder / "log.csv", trials=2)
    framing = result.frame("learned").set_index("trade").loc["framing"]
    assert framing["remark"] == "overrules the range"
    assert framing["level_low"] > 1.5
