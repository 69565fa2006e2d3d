"""A cause is told once, where it is, and not again at every place that it touches."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from minimal_scenario import EVERY_TABLE, EVERY_TABLE_LEVELS, write_every_table

from towerpace.faults import InputError
from towerpace.scenario import load
from towerpace.scenario.study import read_study


def faults_of(here: Path, *, toml: str = EVERY_TABLE, levels: str = EVERY_TABLE_LEVELS) -> list[str]:
    """Faults of a scenario as text; none where it loads."""
    try:
        load(write_every_table(here, toml=toml, levels=levels))
    except InputError as error:
        return [fault.text() for fault in error.faults]
    return []


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("[calendar.site]", "[calender.site]"),
        ("[weather]", "[weathr]"),
        ("[closing_in]", "[closingin]"),
        ("[resource.", "[resourse."),
        ("[trade.", "[trades."),
        ("[family.", "[families."),
        ("[limit.", "[limits."),
        ("[tower]", "[towr]"),
        ("[structure]", "[structur]"),
        ('column = "brackets"', 'colum = "brackets"'),
        ("generator =", "genrator ="),
        ("height_law =", "hight_law ="),
        ("wind_above_m_s =", "wind_above_mph ="),
        ("maker_limit_m_s = 9.8", "maker_limit_mph = 8"),
        ('{ on = "brackets" }', '{ onn = "brackets" }'),
    ],
)
def test_a_misspelt_key_is_one_fault(here, right, wrong):
    assert right in EVERY_TABLE

    [fault] = faults_of(here, toml=EVERY_TABLE.replace(right, wrong))

    assert "an unknown key" in fault
    assert "; nearest: " in fault


def test_a_table_of_something_else_is_not_read_as_the_nearest(here):
    toml = EVERY_TABLE + '\n[factor.gangs]\nkey = "resource.gang.count"\nvalues = [1, 2]\n'

    [fault] = faults_of(here, toml=toml)

    assert ": found an unknown key; " in fault
    assert fault.endswith("; nearest: factory")


def test_faults_inside_a_misspelt_table_stand_at_the_line_where_they_are(here):
    toml = EVERY_TABLE.replace("[hoist]", "[hoists]").replace("share = 0.4", "share = 4")

    unknown, share = faults_of(here, toml=toml)

    assert unknown.startswith("line 60  hoists: found an unknown key")
    assert share == "line 68  hoists.share: found 4; allowed: a number above 0 and at most 1"


def test_a_name_that_nothing_defines_is_one_fault_wherever_it_is_used(here):
    [fault] = faults_of(here, toml=EVERY_TABLE.replace("[resource.gang]", "[resource.gnag]"))

    assert fault == (
        'line 89  trade.brackets.needs.gang: found "gang" (also at trade.panels.needs.gang, '
        "trade.seal.needs.gang, trade.boards.needs.gang); allowed: gnag, floor_crane, hoist, bay; "
        "nearest: gnag"
    )


def test_without_resources_every_use_of_one_goes_untold(here):
    toml = EVERY_TABLE.replace("[resource.", "[mittel.")

    missing, unknown = sorted(faults_of(here, toml=toml), reverse=True)

    assert unknown.startswith("line 38  mittel: found an unknown key")
    assert missing == "resource: missing; allowed: tables [resource.NAME]"


def test_without_weather_the_limits_are_one_fault(here):
    before, rest = EVERY_TABLE.split("[weather]")
    toml = before + "[limit" + rest.split("[limit", maxsplit=1)[1]

    assert faults_of(here, toml=toml) == [
        'weather: missing; allowed: a table [weather], because hoist.limits[0] names "panel_lift"'
    ]


def test_a_missing_folder_is_one_fault(here):
    toml = (
        EVERY_TABLE.replace('"load.csv"', '"data/load.csv"')
        .replace('"levels.csv"', '"data/levels.csv"')
        .replace('"weather.csv"', '"data/weather.csv"')
        .replace("unit_min = 5", 'unit_min = { samples = "data/seal.csv", column = "minutes" }')
    )

    [fault] = faults_of(here, toml=toml)

    folder = os.path.join("tower", "data")
    assert f"missing folder {folder} (also at trade.seal.unit_min.samples, " in fault
    assert "trade.boards.unit_min.samples, tower.levels and 1 more places)" in fault


def test_a_missing_file_is_one_fault(here):
    toml = EVERY_TABLE.replace("unit_min = 5", 'unit_min = { samples = "seal.csv", column = "minutes" }')

    [fault] = faults_of(here, toml=toml)

    assert "seal.csv (also at trade.boards.unit_min.samples)" in fault


def test_semicolons_are_one_fault_even_with_decimal_commas(here):
    levels = EVERY_TABLE_LEVELS.replace(",", ";").replace(".", ",")

    assert faults_of(here, levels=levels) == [
        "line 1  header: found semicolons; allowed: commas between cells, points in numbers"
    ]


def test_a_header_that_is_too_short_is_one_fault(here):
    levels = EVERY_TABLE_LEVELS.replace("flat,brackets,seal", "flat,brackets")

    assert faults_of(here, levels=levels)[0] == (
        "line 2  row: found 9 cells, so too in 5 more rows; allowed: 8 cells, as in the first line"
    )


@pytest.mark.parametrize("tail", [",,,,,,,,\n,,,,,,,,\n", "\n\n", ",,\n", "   \n , \n"])
def test_empty_rows_at_the_end_are_passed_over(here, tail):
    assert faults_of(here, levels=EVERY_TABLE_LEVELS + tail) == []


def test_empty_columns_at_the_side_are_passed_over(here):
    assert faults_of(here, levels=EVERY_TABLE_LEVELS.replace("\n", ",,\n")) == []


def test_an_empty_row_between_others_is_a_fault(here):
    levels = EVERY_TABLE_LEVELS.replace("2,north", ",,,,,,,,\n2,north")

    assert faults_of(here, levels=levels)[0].startswith("line 4  level: found an empty cell")


@pytest.mark.parametrize("path", [r"C:\Users\me\levels.csv", r"C:\data\levels.csv", r"data\levels.csv"])
def test_a_backslash_in_double_quotes_is_explained(here, path):
    [fault] = faults_of(here, toml=EVERY_TABLE.replace('"levels.csv"', f'"{path}"'))

    assert fault.startswith("line 5  syntax: ")
    assert "write paths with / or between single quotes" in fault


@pytest.mark.skipif(os.sep != "/", reason="a path of this system")
@pytest.mark.parametrize("path", [r"C:\data\levels.csv", r"data\levels.csv", "C:/data/levels.csv"])
def test_a_path_of_another_system_is_explained(here, path):
    [fault] = faults_of(here, toml=EVERY_TABLE.replace('"levels.csv"', f"'{path}'"))

    assert "a path of another system" in fault
    assert fault.endswith("relative to the scenario file, with / between folders")


def test_a_misspelt_table_of_a_study_is_one_fault(tmp_path):
    study = tmp_path / "study.toml"
    text = (
        '[study]\nname = "a"\nscenario = "study.toml"\ndesgin = "latin"\npoints = 4\ntrials = 5\nseed = 1\n'
        'responses = ["finish.p80"]\n[factr.gangs]\nkey = "resource.gang.count"\nlow = 1\nhigh = 3\n'
    )
    study.write_text(text, encoding="utf-8")

    with pytest.raises(InputError) as caught:
        read_study(study)

    assert [(fault.key, fault.nearest) for fault in caught.value.faults] == [
        ("study.desgin", "design"),
        ("factr", "factor"),
    ]


@pytest.mark.parametrize("word", ["lhs", "LHS", "latin-hypercube", "latin_hypercube"])
def test_lhs_is_answered_with_latin(tmp_path, word):
    study = tmp_path / "study.toml"
    study.write_text(f'[study]\nname = "a"\nscenario = "a.toml"\ndesign = "{word}"\nseed = 1\n')

    with pytest.raises(InputError) as caught:
        read_study(study)

    design = next(fault for fault in caught.value.faults if fault.key == "study.design")
    assert design.nearest == "latin"


def test_average_is_answered_with_mean(here):
    [fault] = faults_of(here, toml=EVERY_TABLE.replace('kind = "gust"', 'kind = "average"'))

    assert fault.endswith('allowed: "gust" or "mean"; nearest: mean')


def test_a_folder_that_is_not_there_is_one_fault_of_the_command(tmp_path):
    run = "from towerpace.cli.app import main; main()"
    command = [sys.executable, "-c", run, "check", "nowhere/scenario.toml"]
    told = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)

    assert told.returncode == 2
    assert told.stderr == (
        "nowhere/scenario.toml: 1 fault\n  scenario: missing file; allowed: a scenario file\n"
    )
