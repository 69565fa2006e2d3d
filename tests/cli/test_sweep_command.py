"""towerpace sweep as a user runs it."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time

import pytest

from support.command_line import ROOT, towerpace

SCENARIOS = ROOT / "scenarios"
CODE = """\
import signal
from towerpace.cli.app import main

if __name__ == "__main__":
    # A shell starts what it runs in the background with Ctrl-C ignored, and the tests may run there.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    main()
"""
STUDY = """\
[study]
name = "Gangs and slips"
scenario = "one_trade/scenario.toml"
design = "grid"
trials = 20
seed = 1
responses = ["finish.p80", "contract.brackets_done"]

[factor.gangs]
key = "resource.bracket_gang.count"
values = [1, 2]
[factor.slip]
labels = ["none", "some"]
replace = [{ "structure.slip_days" = 0 }, { "structure.slip_days.high" = 5 }]
"""


@pytest.fixture
def here(tmp_path):
    shutil.copytree(SCENARIOS / "one_trade", tmp_path / "one_trade")
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    # A file, not -c: worker processes must find the main module again.
    (tmp_path / "towerpace_main.py").write_text(CODE, encoding="utf-8")
    return tmp_path


def command(here, *arguments):
    return [sys.executable, str(here / "towerpace_main.py"), "sweep", "study.toml", *map(str, arguments)]


def sweep(here, *arguments, workers=1):
    return towerpace("sweep", "study.toml", "--workers", workers, *arguments, cwd=here)


def sweep_of_a_process(here, *arguments):
    return subprocess.run(command(here, *arguments), cwd=here, capture_output=True, text=True, check=False)


def test_a_study_prints_its_main_effects_and_draws_them(here):
    run = sweep(here)
    assert run.returncode == 0, run.stderr
    assert run.stderr.startswith("Gangs and slips: 4 points, 20 trials each: about ")
    assert "Main effects" in run.stdout
    folder = here / "results" / "gangs_and_slips"
    assert {"study.csv", "points.csv", "columns.csv", "manifest.json", "effects_finish_p80.svg"} <= {
        one.name for one in folder.iterdir()
    }
    assert (folder / "pairs_finish_p80.png").stat().st_size > 5000


def test_json_is_one_object_and_the_same_on_any_number_of_workers(here):
    options = ("--json", "--no-figures", "--out", "out", "--fresh")
    runs = sweep(here, *options), sweep_of_a_process(here, *options, "--workers", 2)
    assert [run.stderr.splitlines()[-1][-5:] for run in runs] == [": out", "out-2"]
    one, two = (json.loads(run.stdout) for run in runs)
    assert one == two
    points = [row for row in one["tables"]["points"] if row["response"] == "finish.p80"]
    assert [(row["gangs"], row["slip"]) for row in points][:2] == [(1, "none"), (1, "some")]
    assert {"value", "value_low", "value_high", "trials", "point_hash"} <= set(points[0])


def test_a_fault_of_a_point_exits_2_and_writes_nothing(here):
    (here / "study.toml").write_text(STUDY.replace("[1, 2]", "[1, -2]"), encoding="utf-8")
    run = sweep(here, "--out", "out")
    assert run.returncode == 2
    assert "point 3 (gangs=-2, slip=none) and 1 more: resource.bracket_gang.count: found -2" in run.stderr
    assert not (here / "out").exists()


def test_a_changed_study_exits_2_and_names_the_way_out(here):
    assert sweep(here, "--out", "out", "--no-figures").returncode == 0
    (here / "study.toml").write_text(STUDY.replace("trials = 20", "trials = 21"), encoding="utf-8")
    run = sweep(here, "--out", "out")
    assert run.returncode == 2
    assert "study.trials: found 21; allowed: 20, as the study was begun; --fresh starts over" in run.stderr


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGINT for a single process")
@pytest.mark.parametrize("workers", [1, 2])
def test_an_interruption_says_how_to_go_on(here, workers):
    (here / "study.toml").write_text(STUDY.replace("trials = 20", "trials = 3000"), encoding="utf-8")
    process = subprocess.Popen(
        command(here, "--out", "out", "--workers", workers), cwd=here, stderr=subprocess.PIPE, text=True
    )
    while not list((here / "out" / "parts").glob("point-*")) and process.poll() is None:
        time.sleep(0.01)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 130, said
    assert "of 4 points are done and kept in out. To go on:\ntowerpace sweep study.toml --out out" in said


def test_nobody_at_the_address_of_a_cluster_is_a_fault(here):
    pytest.importorskip("distributed", reason="an extra: many machines")
    run = sweep(here, "--cluster", "nowhere")
    assert run.returncode == 2
    assert "cluster: found nobody there" in run.stderr


def test_a_folder_that_cannot_be_made_is_a_fault_before_the_first_point(here):
    (here / "in_the_way").touch()
    for out in ("in_the_way/study", "n" * 300):
        run = sweep(here, "--out", out)
        assert run.returncode == 2
        assert "Traceback" not in run.stderr
