"""Broken scenarios: one clear report on standard error, exit 2, nothing written."""

import shutil
from pathlib import Path

import pytest

from cli.test_commands import SCENARIOS, forecast

HEADER = "level,zone,height_m,difficulty,handover,delivery,flat,brackets,joints_m\n"


def broken(tmp_path, edits, *, levels=None):
    """The worked scenario with some lines changed; the report of running it."""
    folder = tmp_path / "by_hand"
    shutil.copytree(SCENARIOS / "by_hand", folder)
    shutil.copytree(SCENARIOS / "weather", tmp_path / "weather")
    text = (folder / "scenario.toml").read_text()
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    (folder / "scenario.toml").write_text(text)
    if levels is not None:
        (folder / "levels.csv").write_text(HEADER + levels)
    return report(tmp_path)


def report(tmp_path):
    before = {p for p in tmp_path.rglob("*") if p.is_file()}
    run = forecast(Path("by_hand", "scenario.toml"), "--trials", 2, "--workers", 1, cwd=tmp_path)
    assert run.returncode == 2, run.stderr
    assert run.stdout == ""
    assert "Traceback" not in run.stderr
    assert {p for p in tmp_path.rglob("*") if p.is_file()} == before
    return run.stderr


CASES = {
    "wrong type": ([("set_min = 50", 'set_min = "fifty"')], 'family.flat.set_min: found "fifty"'),
    "unknown key": ([("set_up_min = 60", "setup_min = 60")], "nearest: set_up_min"),
    "cycle of trades": (
        [('after = [{ on = "brackets" }]', 'after = [{ on = "seal" }]')],
        "panels after seal after panels",
    ),
    "unknown trade": (
        [('after = [{ on = "brackets" }]', 'after = [{ on = "bracket" }]')],
        "nearest: brackets",
    ),
    "negative count": (
        [("[resource.bay]\ncount = 1", "[resource.bay]\ncount = -1")],
        "resource.bay.count: found -1",
    ),
    "wrong unit": ([("wind_above_m_s = 11.0", "wind_above_mph = 25")], "wind_above_m_s"),
    "missing table": ([('levels = "levels.csv"', 'levels = "level.csv"')], "nearest: levels.csv"),
    "limit without kind": ([('kind = "gust"\nrestart', "restart")], "limit.lift.kind: missing"),
    "no hour meets the limit": (
        [('wind_above_m_s = 11.0\nkind = "gust"', "temperature_below_degC = 60")],
        "limit.lift.temperature_below_degC: found 60; allowed: a limit that some working hour",
    ),
    "lift longer than any shift": ([("set_min = 50", "set_min = 900")], "it could never start"),
    "not TOML": ([("[hoist]", "[hoist")], "syntax"),
}


@pytest.mark.parametrize("name", CASES)
def test_a_broken_scenario_gets_one_clear_report(tmp_path, name):
    edits, said = CASES[name]
    text = broken(tmp_path, edits)
    file = str(Path("by_hand", "scenario.toml"))
    # What only the plan can tell comes after the count of what is merely unusual.
    report = [line for line in text.split("\n") if f"towerpace check {file}" not in line]
    assert report[0].startswith(f"{file}: ")
    assert said in text


def test_a_date_before_the_start(tmp_path):
    text = broken(tmp_path, [], levels="1,north,59,1.0,2027-05-10,2027-05-15,6,10,30\n")
    assert "line 2  handover: found 2027-05-10; allowed: " in text


def test_a_level_table_with_a_hole(tmp_path):
    rows = ["1,north", "1,south", "2,north"]
    levels = "".join(f"{k},{10 * int(k[0])},1.0,2027-05-15,2027-05-15,6,10,30\n" for k in rows)
    assert "level 2" in (text := broken(tmp_path, [], levels=levels))
    assert "south" in text


def test_a_gap_in_the_record(tmp_path):
    broken_record = (
        (SCENARIOS / "weather" / "laguardia_2013_hourly.csv").read_text().splitlines(keepends=True)
    )
    del broken_record[5000]
    (tmp_path / "records").mkdir()
    (tmp_path / "records" / "gap.csv").write_text("".join(broken_record))
    text = broken_with_record(tmp_path)
    assert "gap.csv: 1 fault\n  line 5001  time_lst: " in text
    assert "1 hour missing" in text


def broken_with_record(tmp_path):
    folder = tmp_path / "by_hand"
    shutil.copytree(SCENARIOS / "by_hand", folder)
    text = (folder / "scenario.toml").read_text()
    text = text.replace("../weather/laguardia_2013_hourly.csv", "../records/gap.csv")
    (folder / "scenario.toml").write_text(text)
    return report(tmp_path)


def test_several_faults_come_at_once(tmp_path):
    edits = [
        ("set_min = 50", "set_min = -5"),
        ("crates_per_truck = 8", "crates_per_truck = 0"),
        ("late_chance = 0", "late_chance = 2"),
    ]
    text = broken(tmp_path, edits)
    assert "3 faults" in text


def test_a_missing_file_names_the_nearest(tmp_path):
    shutil.copytree(SCENARIOS / "by_hand", tmp_path / "by_hand")
    run = forecast(Path("by_hand", "scenari.toml"), cwd=tmp_path)
    assert run.returncode == 2
    assert "nearest: scenario.toml" in run.stderr
