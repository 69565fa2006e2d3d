"""What towerpace sweep says of the quadratic surface of every response."""

import json
import shutil
from pathlib import Path

import pytest

from support.command_line import towerpace
from towerpace.answers.sweep.metamodel import metamodel
from towerpace.answers.sweep.read import load_study

SCENARIOS = Path(__file__).parents[2] / "scenarios"
STUDY = """\
[study]
name = "Gangs and slips"
scenario = "one_trade/scenario.toml"
design = "grid"
trials = 30
seed = 1
responses = ["finish.mean", "ledger.brackets.waiting_for_bracket_gang"]

[factor.gangs]
key = "resource.bracket_gang.count"
values = [1, 2, 3, 4]
"""
SLIP = '[factor.slip]\nkey = "structure.slip_days.high"\nvalues = [1, 3, 5]\n'
LABELS = (
    '[factor.slip]\nlabels = ["none", "some"]\n'
    'replace = [{ "structure.slip_days" = 0 }, { "structure.slip_days.high" = 5 }]\n'
)


@pytest.fixture
def run(tmp_path, monkeypatch):
    shutil.copytree(SCENARIOS / "one_trade", tmp_path / "one_trade")
    monkeypatch.chdir(tmp_path)

    def sweep(text, *arguments):
        Path("study.toml").write_text(text, encoding="utf-8")
        made = towerpace("sweep", "study.toml", "--out", "out", "--no-figures", *arguments, cwd=tmp_path)
        assert made.returncode == 0, made.stderr
        return made.stdout

    return sweep


def test_every_response_has_a_line_with_its_numbers(run):
    said = " ".join(run(STUDY + SLIP, "--workers", "1").split())
    worth = metamodel(load_study("out"), "finish.mean").worth
    assert said.count("Quadratic surface of ") == 2
    assert (
        f"Quadratic surface of finish.mean usable (predictive R2 {worth.r2_text}, leave-one-out error "
        f"{worth.rms:.2g} d, intervals of the points ±{worth.noise:.2g} d)."
    ) in said
    assert (
        "Quadratic surface of ledger.brackets.waiting_for_bracket_gang not shown: not a quadratic of the "
        "factors: "
    ) in said


def test_json_has_the_model_whole_enough_to_be_used_elsewhere(run):
    tables = json.loads(run(STUDY + SLIP, "--workers", "1", "--json"))["tables"]
    worth = {row["response"]: row for row in tables["metamodels"]}
    own = [row for row in tables["ranges"] if row["response"] == "finish.mean"]
    scaled = {
        row["factor"]: (2 * value - row["low"] - row["high"]) / (row["high"] - row["low"])
        for row, value in zip(own, (3, 4.5), strict=True)
    }
    x, z = scaled["gangs"], scaled["slip"]
    terms = {"1": 1, "gangs": x, "slip": z, "gangs^2": x * x, "slip^2": z * z, "gangs*slip": x * z}
    by_term = {r["term"]: r["coefficient"] for r in tables["coefficients"] if r["response"] == "finish.mean"}
    model = metamodel(load_study("out"), "finish.mean")
    by_hand = sum(by_term[term] * value for term, value in terms.items())
    assert by_hand == pytest.approx(float(model.predict({"gangs": 3, "slip": 4.5}).mean))
    row = worth["finish.mean"]
    assert (row["usable"], row["why_not"]) == (True, None)
    assert (row["predictive_r2"], row["leave_one_out_rms"]) == (model.worth.predictive_r2, model.worth.rms)
    assert worth["ledger.brackets.waiting_for_bracket_gang"]["usable"] is False


def test_what_is_true_of_all_responses_is_said_once(run):
    text = STUDY + LABELS
    reason = "a quadratic needs factors with numbers, but labels stand in 'slip'"
    said = " ".join(run(text, "--workers", "1").split())
    assert said.count(f"No quadratic surface: {reason}.") == 1
    data = json.loads(run(text, "--workers", "1", "--json"))
    assert {(row["usable"], row["why_not"]) for row in data["tables"]["metamodels"]} == {(False, reason)}
