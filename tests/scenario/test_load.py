"""A valid scenario: what loading gives, its hash, its assumptions, and changes laid over it."""

import datetime as dt
import pickle
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from minimal_scenario import (
    EVERY_TABLE,
    EVERY_TABLE_LEVELS,
    edited,
    write_every_table,
    write_one_trade,
)

from towerpace.faults import InputError
from towerpace.scenario import Spread, load
from towerpace.scenario.complaints import listed
from towerpace.scenario.schema import Settings
from towerpace.scenario.words import keys_of


def test_every_table_of_the_file_is_there_under_its_name(here: Path):
    scenario = load(write_every_table(here))
    given = scenario.settings

    assert (scenario.path, scenario.folder) == ("tower/scenario.toml", Path("tower"))
    assert given.tower.start == dt.date(2027, 3, 1)
    assert list(given.trade) == ["brackets", "panels", "seal", "boards"]
    assert given.calendar["site"].week.days()[0] == ((420, 720), (750, 1020))
    assert given.calendar["site"].week.days()[5:] == (((420, 780),), ())
    assert given.calendar["site"].closed_spans[0].from_ == dt.date(2027, 12, 24)
    assert given.resource["gang"].order == "first come"
    assert given.family["flat"].set_min == Spread.quantiles(p10=25, p50=40, p90=75)
    assert given.hoist is not None
    assert given.hoist.load_min == Spread.samples([3.5, 5, 6], source="measured")
    assert given.trade["panels"].after[2].levels_up == -1
    assert given.trade["boards"].after[0].lag_h.mean() == 24
    assert given.policy.rank == "lowest front"


def test_values_compute_as_numbers_and_keep_their_source(here: Path):
    weather = load(write_every_table(here)).settings.weather

    assert weather is not None
    assert weather.missing_gust_factor.value == 1.33
    assert weather.missing_gust_factor.source == "a published ratio"
    assert weather.record_height_m * 2 == 20
    assert (weather.block_days, weather.season_days, weather.knots) == (7, 30, False)


def test_a_limit_says_its_variable_and_threshold(here: Path):
    limits = load(write_every_table(here)).settings.limit

    assert [(limit.variable, limit.threshold) for limit in limits.values()] == [
        ("wind_above_m_s", 9.0),
        ("temperature_below_degC", 5.0),
    ]


def test_the_level_table_becomes_arrays_by_level_and_zone(here: Path):
    levels = load(write_every_table(here)).levels

    assert (levels.levels, levels.zones) == ((1, 2, 3), ("north", "south"))
    assert levels.height_m.tolist() == [4.0, 8.0, 12.5]
    assert levels.difficulty.tolist() == [[1.0, 1.2]] * 3
    assert levels.counts["flat"].tolist() == [[8, 6], [8, 6], [8, 0]]
    assert levels.handover == (dt.date(2027, 3, 1), dt.date(2027, 3, 8), dt.date(2027, 3, 15))
    assert levels.delivery[2] == (dt.date(2027, 3, 17), None)
    assert levels.index(3) == 2
    assert not levels.height_m.flags.writeable


def test_rows_may_come_in_any_order_and_zones_keep_theirs(here: Path):
    header, *rows = EVERY_TABLE_LEVELS.splitlines()
    levels = load(write_every_table(here, levels="\n".join([header, *reversed(rows)]) + "\n")).levels

    assert (levels.levels, levels.zones) == ((1, 2, 3), ("south", "north"))
    assert levels.counts["flat"].tolist() == [[6, 8], [6, 8], [0, 8]]


def test_a_scenario_of_one_trade_needs_no_weather_and_no_logistics(here: Path):
    scenario = load(write_one_trade(here))

    assert scenario.settings.weather is None
    assert scenario.weather_record is None
    assert scenario.settings.trade["brackets"].pace == Spread.constant(1.0)


def test_a_scenario_survives_pickling(here: Path):
    scenario = load(write_every_table(here))
    restored = pickle.loads(pickle.dumps(scenario))

    assert restored.settings == scenario.settings
    assert restored.hash == scenario.hash
    assert np.array_equal(restored.levels.counts["flat"], scenario.levels.counts["flat"])


def test_comments_white_space_line_ends_and_places_leave_the_hash_alone(here: Path):
    first = load(write_every_table(here)).hash
    toml = "# a comment\n\n" + EVERY_TABLE.replace(" = ", "  =  ").replace(
        "share  =  0.4", "share = 0.40 # x"
    )
    toml = edited(toml, 'levels  =  "levels.csv"', 'levels = "tables/table.csv"')
    elsewhere = write_every_table(here / "elsewhere", toml=toml.replace("\n", "\r\n"))
    (elsewhere.parent / "tables").mkdir()
    (elsewhere.parent / "tables" / "table.csv").write_text(
        EVERY_TABLE_LEVELS.replace(",", " , "), newline="\r\n"
    )
    (elsewhere.parent / "levels.csv").unlink()
    record = elsewhere.parent / "weather.csv"
    record.write_bytes(record.read_bytes().replace(b"\n", b"\r\n"))

    assert load(elsewhere).hash == first


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("scenario.toml", "share = 0.4", "share = 0.41"),
        ("scenario.toml", "the maker of the seal", "another authority"),
        ("levels.csv", "2027-03-04,6,10,20", "2027-03-04,6,10,21"),
        ("load.csv", "3.5", "3.6"),
        ("weather.csv", "00:51,8", "00:51,9"),
    ],
)
def test_any_number_or_source_changes_the_hash(here: Path, file: str, old: str, new: str):
    path = write_every_table(here)
    first = load(path).hash
    target = here / file
    target.write_text(edited(target.read_text(), old, new))

    assert load(path).hash != first


def test_the_order_of_trades_changes_the_hash_because_it_is_their_rank(here: Path):
    path = write_every_table(here)
    first = load(path).hash
    start, end = EVERY_TABLE.index("[trade.boards]"), EVERY_TABLE.index("[closing_in]")
    boards = EVERY_TABLE[start:end]
    moved = EVERY_TABLE.replace(boards, "").replace("[trade.brackets]", boards + "[trade.brackets]")

    assert load(write_every_table(here, toml=moved)).hash != first


def test_a_change_is_the_same_as_an_edit_of_the_file(here: Path):
    path = write_every_table(here)
    changes = {
        "hoist.share": np.float64(0.5),
        "trade.panels.after[1].levels_up": 2,
        "trade.brackets.unit_min": {"value": 10, "source": "changed"},
        "policy.rank": "most urgent",
        "storage": None,
    }
    toml = edited(EVERY_TABLE, "share = 0.4", "share = 0.5")
    toml = edited(toml, "levels_up = 1", "levels_up = 2")
    toml = edited(toml, "unit_min = 9", 'unit_min = { value = 10, source = "changed" }')
    toml = edited(toml, "[storage]\nslots_per_level = 12\n", '[policy]\nrank = "most urgent"\n')
    changed, plain = load(path, changes), load(path)
    edit = load(write_every_table(here, toml=toml))

    assert changed.settings == edit.settings
    assert changed.hash == edit.hash != plain.hash


@pytest.mark.parametrize(
    ("key", "value", "text"),
    [
        (
            "resource.hoist.count",
            -1,
            "set resource.hoist.count: found -1; allowed: a whole number, at least 0 and at most 100000",
        ),
        (
            "resource.host.count",
            -1,
            "set resource.host.count: found -1; allowed: a whole number, at least 0 and at most 100000",
        ),
        (
            "polcy.rank",
            "most urgent",
            f"set polcy: found an unknown key; allowed: {listed(keys_of(Settings))}; nearest: policy",
        ),
        (
            "tower.name.first",
            "x",
            'set tower.name.first: found no place for it in "Every Table"; '
            "allowed: a key of a table of the file",
        ),
        (
            "trade.panels.after[7].on",
            "x",
            "set trade.panels.after[7].on: found no place for it in a list; "
            "allowed: a key of a table of the file",
        ),
        ("two words", 1, 'set "two words": found no dotted key; allowed: a key as resource.hoist.count'),
        ("contract.late.level", 2, "set contract.late.date: missing; allowed: a date as 2027-03-01"),
    ],
)
def test_a_fault_in_a_change_names_the_change(here: Path, key: str, value: object, text: str):
    path = write_every_table(here)
    with pytest.raises(InputError) as caught:
        load(path, {key: value})

    assert str(caught.value) == f"tower/scenario.toml: 1 fault\n  {text}"


def test_assumptions_have_their_own_source_or_that_of_their_table(here: Path):
    scenario = load(write_every_table(here))
    found = {one.key: (one.text, one.source) for one in scenario.assumptions()}

    assert found["weather.missing_gust_factor"] == ("1.33", "a published ratio")
    assert found["limit.panel_lift.wind_above_m_s"] == ("9", "the maker")
    assert found["calendar.site.week"] == (
        "mon 07:00-12:00, 12:30-17:00; sat 07:00-13:00",
        "common practice, no source",
    )
    assert found["tower.levels"] == ("levels.csv", "invented for the tests")
    assert found["structure.slip_days"] == ("-0.5 to 3, likely 0 (beta-PERT)", "")
    assert found["hoist.load_min"] == ("3 samples from 3.5 to 6, mean 4.875", "measured")
    assert found["weather.block_days"] == ("7", "default of the program")
    assert found["trade.boards.after[0].lag_h"] == ("24", "")
    assert "tower.horizon_days" not in found


def test_sources_missing_are_the_assumptions_without_one(here: Path):
    assert load(write_one_trade(here)).sources_missing() == [
        "tower.levels",
        "calendar.site.week",
        "structure.slip_days",
        "resource.gang.count",
        "trade.brackets.needs.gang",
        "trade.brackets.unit_min",
    ]


def test_importing_scenarios_imports_no_slow_package():
    code = "import sys, towerpace.scenario; print([name for name in sys.modules if '.' not in name])"
    names = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout

    assert "'towerpace'" in names
    assert not {"'pandas'", "'scipy'", "'matplotlib'"} & set(names.strip("[]\n").split(", "))


def test_two_places_of_one_scenario_have_one_hash(here: Path):
    path = write_every_table(here)
    shutil.copytree(here, "copy")

    assert load(Path("copy") / "scenario.toml").hash == load(path.resolve()).hash
