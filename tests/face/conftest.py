"""A short tower with costs and one answer of each kind, played once through the face."""

from __future__ import annotations

from pathlib import Path

import pytest

import towerpace
from support.short_tower import COSTS, write_short_tower

TRIALS, SEED = 12, 3
ONE_TRADE = Path(__file__).parents[2] / "scenarios" / "one_trade" / "scenario.toml"
STUDY = """\
[study]
name = "Small"
scenario = "{scenario}"
design = "grid"
trials = 6
seed = 5
keep_trials = true
responses = ["finish.p80", "ledger.brackets.work"]

[factor.gangs]
key = "resource.bracket_gang.count"
values = [1, 2]
[factor.slip]
key = "structure.slip_days.high"
values = [3, 5]
"""


@pytest.fixture(scope="session")
def path(tmp_path_factory):
    return write_short_tower(tmp_path_factory.mktemp("tower"), levels=3, replace=COSTS)


@pytest.fixture(scope="session")
def tower(path):
    return towerpace.load(path)


@pytest.fixture(scope="session")
def forecasted(tower):
    return towerpace.forecast(tower, trials=TRIALS, seed=SEED)


@pytest.fixture(scope="session")
def compared(tower):
    return towerpace.compare(tower, trials=TRIALS, seed=SEED)


@pytest.fixture(scope="session")
def explained(tower):
    return towerpace.explain(tower, trials=TRIALS, seed=SEED)


@pytest.fixture(scope="session")
def advised(tower):
    return towerpace.add(tower, matters=0.4, trials=20, steps=2, seed=SEED)


@pytest.fixture(scope="session")
def swept(tmp_path_factory):
    """Four points of one trade, of six trials each, which it keeps."""
    folder = tmp_path_factory.mktemp("study")
    (folder / "study.toml").write_text(STUDY.format(scenario=ONE_TRADE.as_posix()), encoding="utf-8")
    return towerpace.sweep(folder / "study.toml", folder=folder / "out")


@pytest.fixture(scope="session")
def answers(forecasted, compared, explained, advised, swept):
    return [forecasted, compared, explained, advised, swept]
