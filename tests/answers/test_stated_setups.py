"""Set-ups and candidates are checked before the clock starts, with the lines of the file."""

from pathlib import Path

import pytest

from support.short_tower import write_short_tower
from towerpace.answers.choice import add as adding
from towerpace.answers.choice import compare as comparing
from towerpace.answers.choice.add import add
from towerpace.answers.choice.chosen import chosen
from towerpace.answers.choice.compare import compare
from towerpace.answers.choice.lab import Lab
from towerpace.answers.choice.stated import all_doubts, planned, stated_setups
from towerpace.answers.sweep.plan import Study
from towerpace.faults import InputError
from towerpace.scenario import Scenario, load
from towerpace.scenario.study import read_study

WRONG = """
[setup.misspelt]
resource.hoist.cuont = 2
[setup.quoted]
"resource.hoist.count" = -1
[setup.nested.resource]
hoist = { count = 1.5 }
[setup.good]
resource.hoist.count = 2
[candidate.far]
note = "a note is no change"
tarde.panels.pace = 1
"""
# A panel of 20 hours fits no shift, which only the plan can tell.
UNPLANNED = """
[setup.slow]
family.flat.set_min = 1200
[candidate.slower]
family.flat.set_min = 1300
"""


@pytest.fixture
def tower(tmp_path: Path):
    def made(more: str) -> Scenario:
        path = write_short_tower(tmp_path, levels=2)
        path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
        return load(path)

    return made


def lines_of(scenario: Scenario) -> list[str]:
    return Path(scenario.path).read_text(encoding="utf-8").split("\n")


def test_every_wrong_change_is_a_fault_at_its_own_line_with_the_nearest_word(tower):
    scenario = tower(WRONG)
    with pytest.raises(InputError) as refused:
        stated_setups(scenario)
    told = {fault.key: fault for fault in refused.value.faults}
    assert set(told) == {
        "setup.misspelt.resource.hoist.cuont",
        "setup.quoted.resource.hoist.count",
        "setup.nested.resource.hoist.count",
        "candidate.far.tarde",
    }
    lines = {key: lines_of(scenario)[(fault.line or 0) - 1] for key, fault in told.items()}
    assert lines == {
        "setup.misspelt.resource.hoist.cuont": "resource.hoist.cuont = 2",
        "setup.quoted.resource.hoist.count": '"resource.hoist.count" = -1',
        "setup.nested.resource.hoist.count": "hoist = { count = 1.5 }",
        "candidate.far.tarde": "tarde.panels.pace = 1",
    }
    assert told["setup.misspelt.resource.hoist.cuont"].nearest == "count"
    assert told["candidate.far.tarde"].nearest == "trade"


def test_each_is_planned_and_the_faults_of_all_are_told(tower):
    scenario = tower(UNPLANNED)
    with pytest.raises(InputError) as refused:
        planned(scenario, stated_setups(scenario))
    told = {(fault.key, lines_of(scenario)[(fault.line or 0) - 1]) for fault in refused.value.faults}
    assert told == {("slow: plan", "[setup.slow]"), ("slower: plan", "[candidate.slower]")}


def test_compare_plans_everything_before_its_first_trial(tower, monkeypatch):
    played = []
    monkeypatch.setattr(comparing, "forecast", lambda *_, **__: played.append(1))
    scenario = tower(UNPLANNED)
    with pytest.raises(InputError, match="slow: plan") as refused:
        compare(chosen(scenario, ["second_hoist", "slow", "slower"]), trials=2, seed=1)
    assert "slower: plan" in str(refused.value)
    assert not played


@pytest.mark.parametrize("more", [WRONG, UNPLANNED])
def test_add_loads_and_plans_its_candidates_before_its_first_trial(tower, monkeypatch, more):
    played = []
    monkeypatch.setattr(adding, "explain", lambda *_, **__: played.append(1))
    with pytest.raises(InputError, match=r"candidate\.far\.tarde|slower: plan"):
        add(tower(more), lab=Lab(1), seed=1)
    assert not played


def test_warnings_that_a_set_up_makes_stand_at_its_line(tower):
    scenario = tower("\n[setup.hours]\ncrane.set_up_min = 1\n")
    base, own = all_doubts(scenario, stated_setups(scenario))
    assert base.key == "weather"
    assert own.key == "setup.hours.crane.set_up_min"
    assert lines_of(scenario)[(own.line or 0) - 1] == "crane.set_up_min = 1"
    assert own.perhaps == "1 h = 60 min"


def test_no_point_of_a_study_changes_the_makers_limit(tmp_path):
    by_hand = Path(__file__).parents[2] / "scenarios" / "by_hand" / "scenario.toml"
    study = tmp_path / "study.toml"
    study.write_text(
        f"""\
[study]
name = "braver makers"
scenario = "{by_hand.as_posix()}"
design = "grid"
trials = 2
seed = 1
draws = "common"
responses = ["finish.p50"]
[factor.makers]
key = "limit.lift.maker_limit_m_s"
values = [12, 15]
""",
        encoding="utf-8",
    )
    with pytest.raises(InputError) as refused:
        Study(read_study(study)).load_points()
    assert {fault.file for fault in refused.value.faults} == {str(study)}
    assert [fault.line for fault in refused.value.faults] == [9, 9]
    for fault in refused.value.faults:
        assert "limit.lift.maker_limit_m_s" in fault.key
        assert "no set-up, study or decision changes the maker's limit" in fault.allowed


def test_a_set_up_that_shares_a_doubt_of_the_base_does_not_tell_it_again():
    """The demo's sails are asked about once, though a set-up lowers the very limits."""
    demo = load(Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "scenario.toml")
    keys = [doubt.key for doubt in all_doubts(demo, stated_setups(demo))]
    assert keys == [f"family.{name}.limits" for name in ("flat", "corner", "curved")]
