"""A wind limit above that of the scenario stands as a banner over every answer, never as a gain alone."""

import json
import shutil

import pytest

from support.command_line import ROOT, towerpace

SETUP = "\n[setup.windy]\nlimit.lift.wind_above_m_s = 13\n[setup.calm]\nlimit.lift.wind_above_m_s = 9\n"
STUDY = """\
[study]
name = "Limits"
scenario = "tower/scenario.toml"
design = "grid"
trials = 2
seed = 1
responses = ["finish.p50"]

[factor.limit]
key = "limit.lift.wind_above_m_s"
values = [10, 13]
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("windy")
    shutil.copytree(ROOT / "scenarios" / "by_hand", place / "tower")
    shutil.copytree(ROOT / "scenarios" / "weather", place / "weather")
    path = place / "tower" / "scenario.toml"
    path.write_text(path.read_text(encoding="utf-8") + SETUP, encoding="utf-8")
    (place / "study.toml").write_text(STUDY, encoding="utf-8")
    return place


@pytest.mark.parametrize(
    "words",
    [
        ("compare", "tower/scenario.toml", "--trials", 3),
        ("sweep", "study.toml", "--no-figures", "--fresh"),
        ("bid", "tower/scenario.toml", "--trials", 6, "--no-sources", "--no-second-seed", "--swing-trials", 0,
         "--years", 0, "--morris", 2, "--point-trials", 1, "--vary", "limit.lift.wind_above_m_s=10:13"),
    ],
    ids=lambda words: words[0],
)  # fmt: skip
def test_a_raised_limit_is_told_above_the_answer(folder, words):
    run = towerpace(*words, "--workers", 1, "--json", cwd=folder)
    assert run.returncode == 0, run.stderr
    (banner,) = json.loads(run.stdout)["banners"]
    assert "limit.lift.wind_above_m_s: 11 m/s gust in the base, raised to 13 m/s gust" in banner
    assert "no permission to lift" in banner


def test_a_lowered_limit_needs_no_banner(folder):
    run = towerpace(
        "compare",
        "tower/scenario.toml",
        "--setup",
        "calm",
        "--trials",
        3,
        "--workers",
        1,
        "--json",
        cwd=folder,
    )
    assert json.loads(run.stdout)["banners"] == []
