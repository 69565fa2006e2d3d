"""The commands as a user runs them: what they print, where, and with which exit code."""

import json
import subprocess
import sys

import pytest

from support.command_line import ROOT, in_a_process, towerpace

SCENARIOS = ROOT / "scenarios"


def forecast(*arguments, cwd=ROOT):
    return towerpace("forecast", *arguments, cwd=cwd)


def test_the_forecast_is_the_same_bytes_twice_and_on_any_number_of_workers():
    demo = SCENARIOS / "one_hoist" / "scenario.toml"
    runs = [
        forecast(demo, "--trials", 30, "--seed", 7, "--json", "--workers", workers) for workers in (1, 1, 2)
    ]
    assert [run.returncode for run in runs] == [0, 0, 0]
    assert runs[0].stdout == runs[1].stdout == runs[2].stdout


def test_the_json_object_has_what_was_promised():
    run = forecast(
        SCENARIOS / "one_hoist" / "scenario.toml", "--trials", 40, "--seed", 7, "--workers", 1, "--json"
    )
    data = json.loads(run.stdout)
    tables = data["tables"]
    assert (data["scenario"], data["seed"], data["trials"]) == ("One hoist", 7, 40)
    assert {"hash", "version", "said", "cautions"} <= set(data)
    finish = {row["percentile"]: row["finish"] for row in tables["percentiles"]}
    assert finish["P50"] <= finish["P80"]
    assert data["facts"]["sd_days"] > 0
    assert set(tables["contracts"][0]) >= {"contract", "date", "chance", "chance_low", "chance_high"}
    assert [row["level"] for row in tables["closing_in"]] == [1, 2, 3, 4, 5]
    assert set(tables["ledger"][0]) == {"trade", "cause", "mean_h"}


def test_too_few_trials_for_an_interval_get_none():
    run = forecast(SCENARIOS / "one_trade" / "scenario.toml", "--trials", 10, "--workers", 1, "--json")
    rows = {row["percentile"]: row for row in json.loads(run.stdout)["tables"]["percentiles"]}
    assert rows["P90"]["finish_low"] is None
    assert rows["P90"]["finish"] is not None
    assert rows["P50"]["finish_low"] is not None


def test_a_table_for_people_and_a_results_folder(tmp_path):
    run = forecast(SCENARIOS / "one_trade" / "scenario.toml", "--trials", 30, "--workers", 1, cwd=tmp_path)
    assert run.returncode == 0, run.stderr
    assert "P80" in run.stdout
    assert "brackets_done" in run.stdout
    (folder,) = (tmp_path / "results").iterdir()
    assert {"manifest.json", "finish.csv", "finish.png", "ledger.csv"} <= {f.name for f in folder.iterdir()}


def test_check_tells_the_planned_dates():
    run = towerpace("check", SCENARIOS / "by_hand" / "scenario.toml", "--json")
    data = json.loads(run.stdout)
    finish = {row["case"]: row["finish"] for row in data["tables"]["planned"]}
    assert finish["weather as recorded"] == "2027-05-17"
    # without wind the fifth panel is set on Saturday, 13:00-13:50, and the sixth on Monday morning
    assert finish["no weather"] == "2027-05-17"
    assert {"what": "panels", "count": 6} in data["tables"]["size"]


def test_weather_prints_record_and_generator_side_by_side():
    run = towerpace("weather", SCENARIOS / "gannet_wharf" / "scenario.toml", "--trials", 3, "--json")
    rows = json.loads(run.stdout)["tables"]["workable"]
    low, high = [r for r in rows if r["month"] == "Mar 2027" and r["operation"].startswith("panels flat")][
        :3:2
    ]
    assert 0 < high["record_h"] < low["record_h"] <= low["shift_h"]
    assert low["generated_p10_h"] <= low["generated_h"] <= low["generated_p90_h"]


def test_weather_needs_weather():
    run = towerpace("weather", SCENARIOS / "one_trade" / "scenario.toml")
    assert run.returncode == 2
    assert "weather: missing; allowed: a scenario with [weather]" in run.stderr


def test_help_and_version():
    assert "forecast" in towerpace("--help").stdout
    assert towerpace("--version").stdout.startswith("towerpace ")


@pytest.mark.parametrize("arguments", [("forecast",), ("forecast", "x", "--trials", "0"), ("fly",)])
def test_wrong_arguments_exit_2(arguments):
    assert towerpace(*arguments).returncode == 2


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("check", SCENARIOS / "one_trade" / "scenario.toml"), 0),
        (("check", SCENARIOS / "broken" / "scenario.toml"), 2),
        (("check", "--fast"), 2),
    ],
)
def test_a_process_of_its_own_says_and_returns_the_same(arguments, code):
    """What the other tests drive inside their own process is what a user gets."""
    own, here = in_a_process(*arguments), towerpace(*arguments)
    assert own.returncode == here.returncode == code
    assert own.stdout == here.stdout
    assert own.stderr.replace("-c", "towerpace") == here.stderr  # the usage names the script
    assert own.stdout or own.stderr


def test_a_fault_of_ours_exits_1_with_the_traceback(monkeypatch):
    def broken(path):
        raise ZeroDivisionError(f"while loading {path}")

    monkeypatch.setattr("towerpace.scenario.load", broken)
    run = towerpace("check", "scenario.toml")
    assert run.returncode == 1
    assert run.stdout == ""
    assert "ZeroDivisionError: while loading scenario.toml" in run.stderr
    assert "This is a fault of towerpace" in run.stderr


def test_help_needs_none_of_the_slow_libraries():
    slow = "pandas", "scipy", "matplotlib", "networkx", "simpy", "numpy", "pydantic"
    code = f"import sys\nfrom towerpace.cli.app import app\nprint([m for m in {slow!r} if m in sys.modules])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


@pytest.mark.slow
def test_a_forecast_on_a_cluster_prints_the_answer_of_this_machine():
    pytest.importorskip("distributed", reason="an extra: many machines")
    words = ("forecast", SCENARIOS / "one_trade" / "scenario.toml", "--trials", 30, "--json")
    here, there = in_a_process(*words), in_a_process(*words, "--cluster", "local", "--workers", 2)
    assert (here.returncode, there.returncode) == (0, 0), there.stderr
    assert json.loads(there.stdout) == json.loads(here.stdout)


def test_a_forecast_finds_nobody_at_the_address_of_a_cluster():
    pytest.importorskip("distributed", reason="an extra: many machines")
    run = towerpace("forecast", SCENARIOS / "one_trade" / "scenario.toml", "--cluster", "nowhere", "--json")
    assert (run.returncode, run.stdout) == (2, "")
    assert "cluster: found nobody there" in run.stderr
