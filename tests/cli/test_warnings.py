"""Warnings before harm on the command line: counted everywhere, told by check, refused on request."""

import json
from pathlib import Path

import pytest

from cli.test_commands import towerpace

ROOT = Path(__file__).parents[2]
ONE_HOIST = ROOT / "scenarios" / "one_hoist" / "scenario.toml"
ONE_TRADE = ROOT / "scenarios" / "one_trade" / "scenario.toml"
BY_HAND = ROOT / "scenarios" / "by_hand" / "scenario.toml"
STUDY = f"""\
[study]
name = "hoists"
scenario = "{ONE_HOIST}"
design = "grid"
trials = 2
seed = 1
draws = "common"
responses = ["finish.p50"]
[factor.hoists]
key = "resource.hoist.count"
values = [1, 2]
"""


@pytest.fixture(scope="module")
def windless_record(tmp_path_factory) -> Path:
    """The scenario worked by hand, its panels without a limit."""
    folder = tmp_path_factory.mktemp("windless")
    text = BY_HAND.read_text(encoding="utf-8").replace('limits = ["lift"]', "limits = []")
    record = (ROOT / "scenarios" / "weather" / "laguardia_2013_hourly.csv").as_posix()
    text = text.replace("../weather/laguardia_2013_hourly.csv", record)
    (folder / "scenario.toml").write_text(text, encoding="utf-8")
    levels = (BY_HAND.parent / "levels.csv").read_bytes()
    (folder / "levels.csv").write_bytes(levels)
    return folder / "scenario.toml"


def commands(scenario: Path, folder: Path) -> list[list[object]]:
    (folder / "study.toml").write_text(STUDY.replace(str(ONE_HOIST), str(scenario)), encoding="utf-8")
    return [
        ["forecast", scenario, "--trials", 2, "--workers", 1, "--json"],
        ["check", scenario, "--json"],
        ["compare", scenario, "--setup", ONE_TRADE, "--trials", 2, "--workers", 1, "--json"],
        ["add", scenario, "--trials", 20, "--workers", 1, "--json"],
        ["explain", scenario, "--trials", 2, "--workers", 1, "--json"],
        ["weather", scenario, "--trials", 1, "--json"],
        ["bid", scenario, "--trials", 2, "--workers", 1, "--json"],
        ["sweep", folder / "study.toml", "--workers", 1, "--json", "--out", folder / "out"],
    ]


@pytest.mark.parametrize("number", range(8))
def test_every_command_that_reads_a_scenario_refuses_warnings_on_request(
    number: int, windless_record: Path, tmp_path: Path
) -> None:
    command = commands(windless_record, tmp_path)[number]
    run = towerpace(*command, "--strict")
    assert run.returncode == 2, run.stderr
    assert not run.stdout
    assert "family.flat.limits: missing a limit of wind; allowed: with --strict" in run.stderr
    assert not (tmp_path / "out").exists()


def test_a_study_is_refused_for_what_is_unusual_at_a_point_alone(tmp_path: Path) -> None:
    """The file itself is usual; at one of two points the hoist takes ten hours to load."""
    study = STUDY.replace(str(ONE_HOIST), str(BY_HAND)).replace("resource.hoist.count", "hoist.load_min")
    (tmp_path / "study.toml").write_text(study.replace("[1, 2]", "[5, 600]"), encoding="utf-8")
    run = towerpace("sweep", tmp_path / "study.toml", "--workers", 1, "--out", tmp_path / "out", "--strict")
    assert run.returncode == 2, run.stderr
    assert "point 2" in run.stderr
    assert "hoist.load_min: found 600 min" in run.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("number", [0, 4, 5, 7])
def test_a_command_counts_the_warnings_on_standard_error(
    number: int, windless_record: Path, tmp_path: Path
) -> None:
    run = towerpace(*commands(windless_record, tmp_path)[number])
    assert run.returncode == 0, run.stderr
    assert f"1 warning: towerpace check {windless_record} tells it" in run.stderr.split("\n")
    json.loads(run.stdout)


def test_check_tells_each_warning_with_its_line(windless_record: Path) -> None:
    run = towerpace("check", windless_record)
    assert run.returncode == 0
    assert not run.stderr
    assert "family.flat.limits: missing a limit of wind" in " ".join(run.stdout.split())
    data = json.loads(towerpace("check", windless_record, "--json").stdout)
    (unusual, *_) = data["tables"]["warnings"]
    line = windless_record.read_text(encoding="utf-8").split("\n")[unusual["line"] - 1]
    assert line == "limits = []"
    assert unusual["key"] == "family.flat.limits"
    assert "no wind stops these panels" in unusual["warning"]


def test_a_scenario_without_warnings_is_silent_and_passes() -> None:
    run = towerpace("forecast", ONE_TRADE, "--trials", 2, "--workers", 1, "--json", "--strict")
    assert (run.returncode, run.stderr) == (0, "")


def test_check_finds_the_faults_of_set_ups(tmp_path: Path) -> None:
    text = ONE_HOIST.read_text(encoding="utf-8") + "\n[setup.misspelt]\nresource.hoist.cuont = 2\n"
    (tmp_path / "scenario.toml").write_text(text, encoding="utf-8")
    (tmp_path / "levels.csv").write_bytes((ONE_HOIST.parent / "levels.csv").read_bytes())
    run = towerpace("check", tmp_path / "scenario.toml")
    line = text.split("\n").index("resource.hoist.cuont = 2") + 1
    assert run.returncode == 2
    assert f"line {line}  setup.misspelt.resource.hoist.cuont: found an unknown key" in run.stderr
    assert "nearest: count" in run.stderr
