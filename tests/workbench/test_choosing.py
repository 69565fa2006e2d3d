"""The trade-off as the page gets it: the search of `towerpace choose`, told line by line."""

import asyncio

import pytest

from support.lines import Line
from support.open_tower import FEWER, write_open_tower
from towerpace import choose, load
from towerpace.faults import InputError
from towerpace.workbench.beside import DONE, RUNNING
from towerpace.workbench.choosing import search
from towerpace.workbench.desk import CHOICE, Desk

ASKED = {"trials": 200, "fresh": 50}


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return write_open_tower(tmp_path_factory.mktemp("open"), replace=FEWER)


@pytest.fixture(scope="module")
def told(path):
    """The last of what a search tells, in a folder of its own."""
    line = Line()
    with pytest.MonkeyPatch.context() as there:
        there.chdir(path.parent)
        search(line, str(path), 3, **ASKED)
    assert {one.state for one in line.told[:-1]} == {RUNNING}
    assert line.told[-1].state == DONE, line.told[-1].text
    return line.told[-1]


def test_points_are_those_of_the_command(told, path):
    (kept,) = (path.parent / "results").glob("choose-*.jsonl")
    played = []
    expected = choose(load(path), seed=3, kept=kept, on_done=played.append, **ASKED)
    assert played == []
    rows = expected.frame("trade_off")
    assert told.text == expected.answer.said
    assert [point["set_up"] for point in told.points] == rows["setup"].tolist()
    assert [point["cost"] for point in told.points] == rows["cost"].tolist()
    assert [point["p80"] for point in told.points] == [str(day)[:10] for day in rows["p80"]]
    (file,) = [point for point in told.points if point["is_file"]]
    assert [point["name"] for point in told.points] == [f"trade-off {place}" for place in rows["place"]]
    for point in told.points:
        # Means of the same trials: what two of the list differ by is the difference that is told.
        assert point["trials"] == file["trials"] == ASKED["fresh"]
        assert point["cost_more"]["value"] == pytest.approx(point["cost"] - file["cost"])
        departs = [d["name"] for d in point["decisions"] if d["choice"] != d["file"]]
        assert all(f"{name} = " in point["set_up"] for name in departs)
        assert point["is_file"] == (not departs)
        assert "changes" not in point


def test_a_point_is_taken_over_as_its_set_up_with_changes_of_the_page_upon_it(told, path):
    desk = Desk(str(path), seed=3)
    name, changes = next((name, own) for name, own in told.set_ups.items() if own)
    with pytest.raises(InputError, match=name):
        desk._taken({}, name)
    desk._found = told.set_ups
    assert desk._taken({}, name) == changes
    upon = desk._taken({"resource.panel_gang.count": 4}, name)
    assert upon == {**changes, "resource.panel_gang.count": 4}


def test_another_scenario_in_the_file_makes_the_trade_off_void(told, tmp_path):
    path = write_open_tower(tmp_path, replace=FEWER)
    desk = Desk(str(path), seed=3)
    desk._found = told.set_ups
    desk.channel.say(CHOICE, told.as_json())
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("cost_per_day = 800", "cost_per_day = 900"), encoding="utf-8")
    asyncio.run(desk._reread())
    assert desk._found == {}
    assert CHOICE not in desk.channel._last
