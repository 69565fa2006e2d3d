"""The forecast of a set-up of the file: named, and with the banner and the cautions of what it changes."""

import json

import pytest

import towerpace
from support import wharf_in_small as small
from support.command_line import towerpace as run_command
from support.short_tower import write_short_tower

SET_UPS = """
[setup.long_day]
calendar.site.week.sat = ["07:00-18:00"]
[setup.no_hoist]
resource.hoist.count = 0
"""


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    path = write_short_tower(tmp_path_factory.mktemp("named"), levels=2)
    path.write_text(path.read_text(encoding="utf-8") + SET_UPS, encoding="utf-8")
    return path


def test_it_is_the_forecast_of_its_changes(path):
    tower = towerpace.load(path)
    changes = {"calendar.site.week.sat": ["07:00-18:00"]}
    expected = towerpace.forecast(towerpace.load(path, changes), trials=12, seed=3)
    run = run_command("forecast", path, "--setup", "long_day", "--trials", 12, "--seed", 3, "--json")
    assert run.returncode == 0, run.stderr
    printed = json.loads(run.stdout)
    assert printed["tables"] == expected.to_json()["tables"]
    assert printed["hash"] == expected.to_json()["hash"]
    said = f"Set-up 'long_day' in the place of the file as it is. {expected.answer.said}"
    assert printed["said"] == said
    assert any("Longer hours (calendar.site)" in caution for caution in printed["cautions"])
    assert not any("Longer hours" in caution for caution in expected.answer.cautions)
    assert towerpace.forecast(tower, setup="base", trials=12, seed=3).answer.said == (
        towerpace.forecast(tower, trials=12, seed=3).answer.said
    )


def test_a_raised_limit_stands_over_it(tmp_path):
    path = small.write(tmp_path)
    brave = "\n[setup.brave]\nlimit.flat_lift.wind_above_m_s = 10.4\n"
    path.write_text(path.read_text(encoding="utf-8") + brave, encoding="utf-8")
    run = run_command("forecast", path, "--setup", "brave", "--trials", 12, "--out", tmp_path / "brave")
    assert "!! WIND LIMIT RAISED in brave: limit.flat_lift.wind_above_m_s: " in run.stdout
    assert "Set-up 'brave' in the place of the file as it is." in run.stdout


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("long_days", "both, long_day, no_hoist; nearest: long_day"),
        ("no_hoist", "no_hoist: hoist.resource: found 1 of"),
    ],
)
def test_a_set_up_that_cannot_be_played_is_a_fault(path, name, said):
    run = run_command("forecast", path, "--setup", name, "--trials", 12)
    assert run.returncode == 2
    assert said in run.stderr
