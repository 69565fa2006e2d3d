"""The bid as a user asks for it: the sentence, the object, the folder, and what is refused."""

import json
from pathlib import Path

import pytest

from support.command_line import towerpace
from towerpace.answers.cautions import LIMITS_CAUTION
from towerpace.face.bid import bid as towerpace_bid
from towerpace.render.json_object import as_json
from towerpace.render.saved.answer_file import load_saved
from towerpace.scenario import load

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ONE_TRADE = SCENARIOS / "one_trade" / "scenario.toml"
BY_HAND = SCENARIOS / "by_hand" / "scenario.toml"
SHORT = ("--workers", 1, "--swing-trials", 3, "--years", 5)


def bid(*arguments):
    return towerpace("bid", *arguments)


@pytest.fixture(scope="module")
def answered(tmp_path_factory):
    folder = tmp_path_factory.mktemp("bid") / "results"
    run = bid(ONE_TRADE, "--days", 23, "--trials", 60, *SHORT, "--json", "--out", folder)
    assert run.returncode == 0, run.stderr
    return run, json.loads(run.stdout), folder


def test_the_object_has_every_part(answered):
    _, data, _ = answered
    tables, facts = data["tables"], data["facts"]
    assert [row["confidence"] for row in tables["needed"]] == [k / 100 for k in range(50, 100, 5)]
    days = [row["working_day"] for row in tables["needed"]]
    assert days == sorted(days)
    assert tables["allowance"] == tables["limits"] == tables["morris"] == []  # no weather, no screening
    assert facts["trials_played"] == 60 * 2 + 60 * (2 * 2 + 1) + 3 * 7
    assert LIMITS_CAUTION in data["cautions"]  # also of a scenario without limits


def test_the_chance_of_a_duration_and_the_duration_of_a_chance_agree(answered):
    """23 working days end on Wednesday 31 March; whoever needs no more is inside them."""
    _, data, _ = answered
    facts = data["facts"]
    assert (facts["stated_working_day"], facts["stated_date"]) == (23, "2027-03-31")
    assert facts["chance_low"] < facts["chance"] < facts["chance_high"]
    for row in data["tables"]["needed"]:
        assert (row["working_day"] <= 23) == (row["confidence"] <= facts["chance"] + 1e-12)
    assert data["tables"]["contracts"][0]["chance"] >= facts["chance"]


def test_contingency_is_counted_from_the_plan(answered):
    _, data, _ = answered
    rows = {row["source"]: row["removed_days"] for row in data["tables"]["sources"]}
    total = rows.pop("over the plan")
    assert total == pytest.approx(sum(rows.values()), abs=1e-5)
    facts = data["facts"]
    assert facts["allowance_days"] + facts["contingency_days"] == pytest.approx(total)
    (need,) = [row for row in data["tables"]["needed"] if row["confidence"] == 0.8]
    assert need["over_plan_days"] == pytest.approx(total)
    assert data["facts"]["planned_with_recorded_weather"] is None


def test_the_cost_is_said_before_it_is_paid(answered):
    run, data, _ = answered
    played = data["facts"]["trials_played"]
    assert run.stderr.startswith(f"{played} trials to play: forecast 60, second seed 60")


def test_the_folder_holds_what_was_printed(answered):
    _, data, folder = answered
    answer = load_saved(folder).answer
    assert as_json(answer) == data
    sources = set(answer.table("sources").column("source"))
    assert sources == {"trade pace and item minutes", "structure", "remainder", "over the plan"}
    assert (folder / "finish.png").exists()


def test_python_returns_what_the_command_prints(answered):
    _, data, _ = answered
    again = towerpace_bid(load(ONE_TRADE), days=23, trials=60, swing_trials=3, years=5)
    assert again.to_json() == data
    assert again.frame("needed")["working_day"].tolist() == [
        row["working_day"] for row in data["tables"]["needed"]
    ]
    assert again.plot().get_suptitle()


def test_parts_that_were_not_played_are_empty():
    run = bid(ONE_TRADE, "--trials", 12, "--no-sources", "--no-second-seed", "--swing-trials", 0, "--json",
              "--workers", 1)  # fmt: skip
    assert run.returncode == 0, run.stderr
    data = json.loads(run.stdout)
    assert data["facts"]["stated_date"] is None
    assert data["tables"]["sources"] == data["tables"]["swings"] == []


def test_a_person_reads_the_answer_in_80_columns():
    run = bid(BY_HAND, "--date", "2027-05-17", "--trials", 30, *SHORT, "--allowance")
    assert run.returncode == 0, run.stderr
    # Every duration is certain there and the wind is replayed: the date holds in every trial.
    text = " ".join(run.stdout.split())
    assert "that is by Mon 17 May 2027, is 100.0 % (95 % interval 88.4 to 100.0 %)" in text
    assert "with the weather as recorded" in text
    assert "2027-05" in run.stdout
    assert max(map(len, run.stdout.splitlines())) <= 80


def test_a_confidence_is_answered_with_a_duration():
    run = bid(ONE_TRADE, "--confidence", 0.93, "--trials", 60, "--workers", 1, "--swing-trials", 0,
              "--no-sources", "--no-second-seed")  # fmt: skip
    assert "For 93 % confidence allow to" in run.stdout
    assert "93 %  " in run.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--days", 20, "--confidence", 0.8), "found 2 questions; allowed: one of days, date and confidence"),
        (("--days", 4000), "days: found 4000; allowed: 1 to"),
        (("--date", "2026-01-01"), "date: found 2026-01-01; allowed: 2027-03-01 to 2027-06-28"),
        (("--sobol", 100), "sobol: found 100; allowed: a power of 2"),
        (("--morris", 1), "morris: found 1; allowed: 2 trajectories or more"),
        (("--morris", 2, "--vary", "trade.brackets.pace"), "allowed: KEY=LOW:HIGH"),
        (("--morris", 2, "--vary", "trade.brackets.paec=1:2"), "trade.brackets.paec"),
        (("--morris", 2, "--vary", "trade.brackets.pace=-1:2"), "trade.brackets.pace"),
    ],
)
def test_what_cannot_be_asked_exits_2_and_says_why(arguments, words):
    run = bid(ONE_TRADE, *arguments, "--trials", 10)
    assert run.returncode == 2
    assert words in run.stderr


def test_screening_finds_what_matters_and_says_its_cost():
    """Twelve brackets a front and the structure already there: how many gangs there are matters nothing."""
    run = bid(
        ONE_TRADE, "--trials", 12, "--workers", 1, "--no-sources", "--no-second-seed", "--swing-trials", 0,
        "--point-trials", 2, "--morris", 3, "--sobol", 4, "--json",
        "--vary", "trade.brackets.unit_min=8:60", "--vary", "resource.bracket_gang.count=4:6",
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    assert run.stderr.startswith("62 trials to play: forecast 12, Morris screening 18, Sobol indices 32")
    tables = json.loads(run.stdout)["tables"]
    morris, sobol = tables["morris"], tables["sobol"]
    assert [row["key"] for row in morris] == [
        "trade.brackets.unit_min",
        "resource.bracket_gang.count",
    ]
    assert morris[0]["mu_star"] > 1
    assert morris[1]["mu_star"] == 0
    assert sobol[0]["total"] > 10 * abs(sobol[1]["total"])
