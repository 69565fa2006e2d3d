"""Which engine plays is the user's to say; the tables of its folder do not depend on it."""

from __future__ import annotations

from pathlib import Path

import pytest

from support.compiler import is_dependency
from towerpace import add, bid, compare, explain, forecast, load, sweep
from towerpace.engine import kernel
from towerpace.faults import InputError

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ONE_HOIST = SCENARIOS / "one_hoist" / "scenario.toml"
ONE_TRADE = SCENARIOS / "one_trade" / "scenario.toml"
STUDY = """
[study]
name = "engines"
scenario = "{scenario}"
responses = ["finish.p80"]
trials = 2
seed = 1
design = "grid"

[factor.gangs]
key = "resource.bracket_gang.count"
values = [1, 2]
"""


def _study(folder: Path, engine: str) -> None:
    file = folder.with_suffix(".toml")
    file.write_text(STUDY.format(scenario=ONE_TRADE.as_posix()), encoding="utf-8")
    sweep(file, folder=folder, engine=engine)


MORE_GANGS = {"more gangs": {"resource.bracket_gang.count": 3}}
QUESTIONS = {
    "forecast": lambda folder, engine: forecast(load(ONE_TRADE), trials=4, engine=engine).save(folder),
    "compare": lambda folder, engine: compare(load(ONE_TRADE), MORE_GANGS, trials=4, engine=engine).save(
        folder
    ),
    "explain": lambda folder, engine: explain(
        load(ONE_TRADE), trials=4, trial=1, removals=True, engine=engine
    ).save(folder),
    "bid": lambda folder, engine: bid(
        load(ONE_TRADE), days=23, trials=4, swing_trials=2, years=0, shapley=1, engine=engine
    ).save(folder),
    "add": lambda folder, engine: add(load(ONE_TRADE), matters=1, trials=20, steps=1, engine=engine).save(
        folder
    ),
    "sweep": _study,
}


@pytest.mark.usefixtures("no_figures")
@pytest.mark.parametrize("question", QUESTIONS)
def test_either_engine_alone_answers_with_the_same_tables(question, tmp_path, monkeypatch):
    """Each run would fail at the first trial that the other engine plays."""
    assert kernel.available() == is_dependency("numba")
    engines = {
        "reference": "towerpace.engine.kernel.run.run",
        "fastest": "towerpace.engine.reference.run" if kernel.available() else None,
    }
    for engine, other in engines.items():
        with monkeypatch.context() as patch:
            if other is not None:
                patch.setattr(other, _not_asked_for)
            QUESTIONS[question](tmp_path / engine, engine)

    left, right = (
        {file.name: file.read_bytes() for file in (tmp_path / engine).iterdir() if file.suffix == ".csv"}
        for engine in engines
    )
    assert left
    assert left == right


def _not_asked_for(*_args, **_options):
    raise AssertionError("the other engine was not asked for")


def test_an_engine_that_is_not_there_is_refused_by_every_question(monkeypatch, tmp_path):
    monkeypatch.setattr(kernel, "available", lambda: False)

    for ask in QUESTIONS.values():
        with pytest.raises(InputError, match="numba is not installed or is switched off"):
            ask(tmp_path / "none", "compiled")
        with pytest.raises(InputError, match="nearest: reference"):
            ask(tmp_path / "none", "refrence")
