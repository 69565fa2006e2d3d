"""Forecasts of small scenarios, played once; one of them saved to a folder."""

from __future__ import annotations

from datetime import date

import pytest

from scenario.minimal_scenario import write_every_table, write_one_trade
from towerpace.answers.forecast import forecast
from towerpace.answers.forecast_said import said
from towerpace.render.folder import save
from towerpace.render.frames import Framed
from towerpace.scenario.load import load

# Without weather the scenario needs no record.
NO_WEATHER = {
    "weather": None,
    "limit": None,
    "hoist.limits": [],
    "family.flat.limits": [],
    "trade.seal.limits": None,
    "resource.gang.order": "rank",
}
CONTRACTS = {"contract.release.date": date(2027, 4, 2), "contract.end.date": date(2027, 4, 8)}
COMMAND = "towerpace forecast tower/scenario.toml --trials 10 --seed 3"


@pytest.fixture(scope="session")
def playing(tmp_path_factory):
    """Play a small scenario: every table, or one trade only, with changes."""

    def play(*, trials, one_trade=False, **changes):
        folder = tmp_path_factory.mktemp("tower")
        path = write_one_trade(folder) if one_trade else write_every_table(folder)
        dotted = {key.replace("__", "."): value for key, value in changes.items()}
        scenario = load(path, changes=dotted if one_trade else {**NO_WEATHER, **CONTRACTS, **dotted})
        return forecast(scenario, trials=trials, seed=3)

    return play


@pytest.fixture(scope="session")
def ten(playing):
    """Ten trials of the scenario with every table."""
    return playing(trials=10)


@pytest.fixture(scope="session")
def late(playing):
    """Trials of which some do not finish inside the horizon."""
    made = playing(trials=10, tower__horizon_days=36, contract=None)
    assert 0 < made.beyond < 10
    return made


@pytest.fixture(scope="session")
def folder(ten, tmp_path_factory):
    """The ten trials saved."""
    return save(said(ten), tmp_path_factory.mktemp("results") / "run", command=COMMAND)


def framed_of(forecast):
    """A forecast as figures get it."""
    return Framed(said(forecast))


@pytest.fixture(scope="session")
def framed():
    return framed_of
