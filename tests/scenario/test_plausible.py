"""Values that pass as good, but are seldom meant: each with its line, the usual range and its source."""

from pathlib import Path

import pytest

from scenario.minimal_scenario import EVERY_TABLE, EVERY_TABLE_LEVELS, edited, write_every_table
from towerpace.scenario import load
from towerpace.scenario.doubts import Doubt, in_order
from towerpace.scenario.plausible import warnings_of

ROOT = Path(__file__).parents[2]
PLAIN = edited(
    EVERY_TABLE, 'levels = "levels.csv"\n', 'levels = "levels.csv"\ntime_zone = "America/New_York"\n'
)


def doubts_of(here: Path, *, old: str = "", new: str = "", levels: str = EVERY_TABLE_LEVELS) -> list[Doubt]:
    text = edited(PLAIN, old, new) if old else PLAIN
    return warnings_of(load(write_every_table(here, toml=text, levels=levels)))


def line_of(key: str, text: str) -> int:
    """Line of the first text that begins with a key."""
    return next(number for number, line in enumerate(text.split("\n"), 1) if line.startswith(key))


def test_a_plain_scenario_raises_no_doubt(here: Path):
    assert doubts_of(here) == []


@pytest.mark.parametrize(
    ("limit", "meant"),
    [
        ("20", "20 knots = 10.3 m/s or 20 mph = 8.9 m/s or 20 km/h = 5.6 m/s"),
        ("35", "35 km/h = 9.7 m/s"),
        ("40", "40 km/h = 11.1 m/s"),
    ],
)
def test_a_limit_for_panels_in_another_unit_is_asked_about(here: Path, limit: str, meant: str):
    new = f"[limit.panel_lift]\nwind_above_m_s = {limit}"
    text = edited(PLAIN, "[limit.panel_lift]\nwind_above_m_s = 9.0", new).replace(
        "maker_limit_m_s = 9.8\n", ""
    )
    (doubt,) = warnings_of(load(write_every_table(here, toml=text)))

    assert (doubt.key, doubt.line) == ("limit.panel_lift.wind_above_m_s", line_of("wind_above_m_s", text))
    assert doubt.found == f"{limit} m/s gust"
    assert doubt.usual == "2 to 15 m/s gust for lifting panels"
    assert "common practice, no source" in doubt.source
    assert doubt.perhaps is not None
    assert meant in doubt.perhaps


def test_a_limit_on_means_is_lower_and_is_told_in_beaufort(here: Path):
    text = edited(
        PLAIN, "[limit.panel_lift]\nwind_above_m_s = 9.0\n", "[limit.panel_lift]\nwind_above_m_s = 14\n"
    )
    text = text.replace("maker_limit_m_s = 9.8\n", "").replace('kind = "gust"', 'kind = "mean"')
    (doubt,) = warnings_of(load(write_every_table(here, toml=text)))
    # Beaufort 7 begins at 13.9 m/s (WMO-No. 306).
    assert doubt.found == "14 m/s mean, Beaufort 7"


def test_a_hoist_at_48_is_asked_about(here: Path):
    added = '[limit.up]\nwind_above_m_s = 48\nkind = "gust"\nsource = "a leaflet"\n\n[limit.panel_lift]'
    text = edited(PLAIN, "[limit.panel_lift]", added)
    text = edited(text, 'calendar = "site"\nlimits = ["panel_lift"]', 'calendar = "site"\nlimits = ["up"]')
    (doubt,) = warnings_of(load(write_every_table(here, toml=text)))
    assert doubt.usual == "8 to 20 m/s gust for hoist trips"
    assert doubt.perhaps == "48 km/h = 13.3 m/s"


@pytest.mark.parametrize(
    ("old", "new", "key", "perhaps"),
    [
        ("below_degC = 5", "below_degC = 41", "temperature_below_degC", "41 degF = 5 degC"),
        ("set_up_min = 60", "set_up_min = 1", "set_up_min", "1 h = 60 min"),
        ("set_min = { p10 = 25, p50 = 40, p90 = 75 }", "set_min = 0.7", "set_min", "0.7 h = 42 min"),
        ("unload_min = 75", "unload_min = 1.25", "unload_min", "1.25 h = 75 min"),
        ("speed_m_s = 1.0", "speed_m_s = 60", "speed_m_s", "60 m/min = 1 m/s"),
        ('crate_panels = 4\n', 'crate_panels = 4\nmass_kg = 0.62\n', "mass_kg", "0.62 t = 620 kg"),
        ("low = 0.9, likely = 1.0, high = 1.3", "low = 90, likely = 99, high = 120", "pace", "101 % = 1.01"),
    ],
)  # fmt: skip
def test_a_number_in_another_unit_is_asked_about(here: Path, old: str, new: str, key: str, perhaps: str):
    (doubt,) = doubts_of(here, old=old, new=new)
    text = edited(PLAIN, old, new)
    lines = [number for number, line in enumerate(text.split("\n"), 1) if line.startswith(key)]
    assert doubt.key.endswith(key)
    assert doubt.line in lines
    assert (doubt.perhaps or "").startswith(perhaps)


def test_heights_in_feet_are_asked_about(here: Path):
    feet = (
        EVERY_TABLE_LEVELS.replace(",4.0,", ",13.0,").replace(",8.0,", ",26.0,").replace(",12.5,", ",39.5,")
    )
    (doubt,) = doubts_of(here, levels=feet)
    assert (doubt.file, doubt.line, doubt.key) == ("tower/levels.csv", 4, "height_m")
    assert doubt.found == "storeys of 13.25 m"
    assert doubt.perhaps == "13.25 ft = 4.04 m"


def test_a_storey_out_of_the_row_is_asked_about(here: Path):
    levels = EVERY_TABLE_LEVELS.replace(",12.5,", ",125,")
    levels += "4,north,129,1.0,2027-03-20,,0,0,0\n4,south,129,1.0,2027-03-20,,0,0,0\n"
    (doubt,) = doubts_of(here, levels=levels)
    assert (doubt.line, doubt.found) == (6, "117 m from the level below")


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ("closed = [2027-03-26, 2027-03-29]", "closed = [2018-03-30, 2027-03-29]", "closed ="),
        ("{ from = 2027-12-24, to = 2028-01-03 }", "{ from = 2030-12-24, to = 2031-01-03 }", "closed_spans"),
    ],
)
def test_a_holiday_of_another_year_is_asked_about(here: Path, old: str, new: str, line: str):
    (doubt,) = doubts_of(here, old=old, new=new)
    assert doubt.line == line_of(line, edited(PLAIN, old, new))
    assert doubt.usual == "a day of 2027 to 2028, the years of the job"


def test_a_mock_up_after_the_first_delivery_is_asked_about(here: Path):
    mock_up = "[mock_up]\nstart = 2028-03-03\ntry_days = 5\npass_chance = 1\nfix_days = 5\nmost_tries = 2\n\n"
    (doubt,) = doubts_of(here, old="[closing_in]", new=mock_up + "[closing_in]")
    assert doubt.key == "mock_up.start"
    assert doubt.found == "2028-03-03, 366 days after the first delivery of 2027-03-03"
    in_time = mock_up.replace("2028-03-03", "2027-03-01")
    assert doubts_of(here, old="[closing_in]", new=in_time + "[closing_in]") == []


def test_a_level_handed_over_before_the_one_below_is_asked_about(here: Path):
    levels = EVERY_TABLE_LEVELS.replace("2027-03-15,2027-03-17", "2027-03-07,2027-03-17")
    levels = levels.replace("2027-03-15,,", "2027-03-07,,")
    (doubt,) = doubts_of(here, levels=levels)
    assert (doubt.file, doubt.line, doubt.key) == ("tower/levels.csv", 6, "handover")
    assert doubt.found == "2027-03-07 for level 3, before level 2 on 2027-03-08"


def test_panels_without_any_wind_limit_are_asked_about(here: Path):
    old = 'limits = ["panel_lift"]\ncrate_panels'
    for limits in ("[]", '["frost"]'):
        (doubt,) = doubts_of(here, old=old, new=f"limits = {limits}\ncrate_panels")
        assert doubt.key == "family.flat.limits"
        assert "no wind stops these panels" in doubt.usual


def test_panels_without_any_weather_are_asked_about_once():
    (doubt,) = warnings_of(load(ROOT / "scenarios" / "one_hoist" / "scenario.toml"))
    assert (doubt.key, doubt.line) == ("weather", None)
    assert doubt.text().startswith("weather: missing")


@pytest.mark.parametrize(
    ("mass_kg", "area_m2", "most"),
    [(450, 6, "2.7"), (1200, 12, "3.1")],
)
def test_a_sail_asks_for_less_than_the_makers_limit(here: Path, mass_kg: float, area_m2: float, most: str):
    """Chart 9.8 m/s: 2.684 m/s for 6 m2 on 0.45 t and 3.099 m/s for 12 m2 on 1.2 t, as in test_sail."""
    new = f"crate_panels = 4\nmass_kg = {mass_kg}\narea_m2 = {area_m2}\n"
    (doubt,) = doubts_of(here, old="crate_panels = 4\n", new=new)
    assert doubt.key == "family.flat.limits"
    assert doubt.usual == f"at most {most} m/s: 9.8 m/s, which is the maker's, less the sail"


def test_a_heavy_panel_of_little_sail_asks_for_nothing(here: Path):
    assert (
        doubts_of(here, old="crate_panels = 4\n", new="crate_panels = 4\nmass_kg = 4000\narea_m2 = 3\n") == []
    )


def test_a_record_without_the_sites_clock_is_asked_about(here: Path):
    (doubt,) = warnings_of(load(write_every_table(here)))
    assert doubt.key == "tower.time_zone"
    assert doubt.found == "missing"
    assert "UTC-5" in doubt.usual


@pytest.mark.parametrize(
    ("zone", "offset_h", "asked"),
    [
        ("America/New_York", -5, False),
        ("America/New_York", 0, False),  # a record in UTC is meant to be moved
        ("Europe/London", -5, True),
        ("Australia/Sydney", 10, False),
        ("Australia/Sydney", 9, False),
    ],
)
def test_a_record_from_another_place_is_asked_about(here: Path, zone: str, offset_h: float, asked: bool):
    text = edited(PLAIN, "America/New_York", zone)
    text = edited(text, "utc_offset_h = -5", f"utc_offset_h = {offset_h}")
    keys = [doubt.key for doubt in warnings_of(load(write_every_table(here, toml=text)))]
    assert keys == (["weather.utc_offset_h"] if asked else [])


def test_warnings_are_told_by_file_in_line_order(here: Path):
    text = edited(PLAIN, "set_up_min = 60", "set_up_min = 1")
    text = edited(text, "temperature_below_degC = 5", "temperature_below_degC = 41")
    levels = EVERY_TABLE_LEVELS.replace("2027-03-15", "2027-03-07")
    doubts = warnings_of(load(write_every_table(here, toml=text, levels=levels)))
    assert sorted(doubt.file for doubt in doubts) == [
        "tower/levels.csv",
        "tower/scenario.toml",
        "tower/scenario.toml",
    ]
    ordered = [doubt.key for doubt in in_order(doubts) if doubt.file == "tower/scenario.toml"]
    assert [key.split(".")[0] for key in ordered] == ["limit", "crane"]


def test_a_doubt_that_a_change_has_made_says_so(here: Path):
    path = write_every_table(here, toml=PLAIN)
    (doubt,) = warnings_of(load(path, {"crane.set_up_min": 1}))
    assert (doubt.key, doubt.line) == ("set crane.set_up_min", None)


def test_the_teaching_scenarios_raise_only_what_they_mean():
    asked = {
        name: [doubt.key for doubt in warnings_of(load(ROOT / "scenarios" / name / "scenario.toml"))]
        for name in ("gannet_wharf", "one_hoist", "one_trade", "by_hand")
    }
    sails = [f"family.{name}.limits" for name in ("flat", "corner", "curved")]
    assert asked == {"gannet_wharf": sails, "one_hoist": ["weather"], "one_trade": [], "by_hand": []}
