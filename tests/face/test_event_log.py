"""The event log: hand-worked rows, the same rows in every file, and XES as others read it."""

import csv
import json
from collections import Counter
from datetime import datetime
from xml.etree import ElementTree

import pandas as pd
import pytest

from support import wharf_in_small as small
from support.hostile_site import HOSTILE_NAMES
from support.panel_site import HEADER, TOML, row
from towerpace import events, load
from towerpace.faults import InputError


@pytest.fixture(scope="module")
def by_hand(tmp_path_factory):
    """Two fronts, one gang, two cranes (see support.panel_site): the second front waits for the gang."""
    folder = tmp_path_factory.mktemp("by hand")
    (folder / "scenario.toml").write_text(TOML, encoding="utf-8")
    rows = row(1, flat=2) + row(1, "east", flat=1)
    (folder / "levels.csv").write_text(HEADER + rows, encoding="utf-8")
    return load(folder / "scenario.toml", {"resource.crane.count": 2})


@pytest.fixture(scope="module")
def wharf(tmp_path_factory):
    return load(small.write(tmp_path_factory.mktemp("wharf")))


def at(minute):
    return datetime(2027, 3, 1, minute // 60, minute % 60)


def test_a_row_tells_times_units_and_why_it_waited(by_hand):
    """Trucks 0-30 and 30-60, crates up 30-38 and 60-68; north moves in 38-98 and sets two panels to 198."""
    (trial,) = list(events(by_hand, trials=1))
    rows = {event.step: event for event in trial}
    lift, move_in = rows["panels L1 north: panel 2"], rows["panels L1 east: move in"]

    assert (lift.ready, lift.started, lift.finished) == (at(148), at(148), at(198))
    assert (lift.kind, lift.units, lift.after) == ("lift", "gang 1; crane 1", "panels L1 north: panel 1")
    assert (move_in.ready, move_in.started, move_in.wait_min) == (at(68), at(198), 130)
    assert (move_in.units, move_in.cause) == ("gang 1; crane 2", "waiting for gang")
    assert move_in.causes == "waiting for gang 130"
    assert rows["panels L1 east: truck 1 unloaded"].causes == "waiting for bay 30"
    assert rows["panels L1 east: crate 1 up"].units == "hoist 1"


def test_minutes_of_waiting_add_up_and_units_exist(wharf):
    counts = {name: resource.count for name, resource in wharf.settings.resource.items()}
    table = events(wharf, trials=2).frame()

    for event in table.itertuples():
        spent = [int(part.rpartition(" ")[2]) for part in event.causes.split("; ") if part]
        assert sum(spent) == event.wait_min, event.step
        units = [unit.rsplit(" ", 1) for unit in event.units.split("; ") if unit]
        assert all(1 <= int(number) <= counts[name] for name, number in units), event.step
    lifts = table[table["kind"] == "lift"]
    assert len(lifts) > 200
    assert lifts["units"].str.contains("panel_gang").all()
    # No unit does two lifts at one time, whatever it is told to serve.
    for unit in ("floor_crane 1", "floor_crane 2"):
        own = lifts[lifts["units"].str.contains(unit) & (lifts["trial"] == 0)].sort_values("started")
        assert (own["started"].iloc[1:].to_numpy() >= own["finished"].iloc[:-1].to_numpy()).all()


def test_the_files_hold_the_same_rows(by_hand, tmp_path):
    log = events(by_hand, trials=2)
    counts = log.save(tmp_path / "log", formats=("csv", "parquet", "xes"))
    frame = log.frame()

    times = ["ready", "started", "finished"]
    as_csv = pd.read_csv(tmp_path / "log" / "events.csv", parse_dates=times, keep_default_na=False)
    as_parquet = pd.read_parquet(tmp_path / "log" / "events.parquet")
    for table in (as_csv, as_parquet):
        assert list(table.columns) == list(frame.columns)
        assert table["step"].tolist() == frame["step"].tolist()
        assert table["wait_min"].tolist() == frame["wait_min"].tolist()
        assert pd.to_datetime(table["finished"]).tolist() == frame["finished"].tolist()
    manifest = json.loads((tmp_path / "log" / "manifest.json").read_text(encoding="utf-8"))
    assert manifest["files"] == ["events.csv", "events.parquet", "events.xes"]
    assert sum(counts.values()) == len(frame)


def test_an_independent_reader_finds_every_event_of_the_xes(wharf, tmp_path):
    """r4pm (Apache 2.0 or MIT), a reader of IEEE 1849 logs that has no code in common with ours."""
    reader = pytest.importorskip("r4pm", reason="a reader of the test extra").df
    log = events(wharf, trials=1)
    log.save(tmp_path / "log", formats=("xes",))
    (trial,) = list(log)

    found, _ = reader.import_xes(str(tmp_path / "log" / "events.xes"))
    said = Counter(found["lifecycle:transition"].to_list())
    steps = Counter(found["concept:instance"].to_list())
    assert said["schedule"] == len(trial)
    assert said["complete"] == sum(event.finished is not None for event in trial)
    assert set(steps) == {event.step for event in trial}
    traces = set(found["case:concept:name"].to_list())
    assert {"trial 0, L1 north", "trial 0, L1"} <= traces


def test_elements_stand_in_the_order_of_the_standard(by_hand, tmp_path):
    """IEEE 1849-2016, clause 5: extensions, globals, classifiers, attributes, traces; what each must have."""
    events(by_hand, trials=1).save(tmp_path / "log", formats=("xes",))
    log = ElementTree.parse(tmp_path / "log" / "events.xes").getroot()

    order = ["extension", "global", "classifier", "string", "trace"]
    places = [order.index(child.tag) for child in log]
    assert places == sorted(places)
    assert {child.tag for child in log} == set(order)
    assert float(log.attrib["xes.version"]) == 1849.2016
    for event in log.iter("event"):
        keys = {child.get("key"): child for child in event}
        assert {"concept:name", "lifecycle:transition", "time:timestamp"} <= set(keys)
        assert datetime.fromisoformat(keys["time:timestamp"].get("value"))
    for trace in log.iter("trace"):
        times = [event.find("date").get("value") for event in trace.iter("event")]
        assert times == sorted(times)


def test_an_unknown_format_is_refused_with_those_there_are(by_hand, tmp_path):
    with pytest.raises(InputError, match="found xml; allowed: csv, parquet, xes"):
        events(by_hand, trials=1).save(tmp_path / "log", formats=("xml",))


def test_names_as_only_people_can_give_them_stay_one_cell_and_one_value(tmp_path):
    """Read back by parsers that are not ours."""
    names = [*HOSTILE_NAMES, "of the\tinside"]
    (tmp_path / "scenario.toml").write_text(TOML, encoding="utf-8")
    with (tmp_path / "levels.csv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(HEADER.strip().split(","))
        rows.writerows([cell.replace("north", name) for cell in row(1).strip().split(",")] for name in names)
    log = events(load(tmp_path / "scenario.toml"), trials=1)
    log.save(tmp_path / "log", formats=("csv", "xes"))

    with (tmp_path / "log" / "events.csv").open(encoding="utf-8", newline="") as file:
        zones = {cells["zone"] for cells in csv.DictReader(file)}
    names = [name.strip().replace("\t", " ") for name in names]
    assert zones - {""} == {*names}
    traces = ElementTree.parse(tmp_path / "log" / "events.xes").getroot().findall("trace/string")
    told = {trace.get("value") for trace in traces}
    assert told == {"trial 0, L1", *(f"trial 0, L1 {name}" for name in names)}
