"""Commands ended at random moments lose nothing; the bench ends a hundred, here is one of each."""

import os
import time

import pytest

from support.dice import Dice
from support.killed import COMMANDS, Ended, Victim, prepare

pytestmark = [pytest.mark.slow, pytest.mark.skipif(os.name == "nt", reason="needs copies of a process")]


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    return prepare(tmp_path_factory.mktemp("killed"))


@pytest.fixture(scope="module")
def forecast(site):
    return Victim(site, "forecast")


def test_a_forecast_that_is_ended_at_any_moment_has_lost_nothing_and_goes_on(forecast):
    assert forecast.end(Dice(3)).wrong == ()


def test_a_study_that_is_ended_at_any_moment_has_lost_nothing_and_goes_on(site):
    assert Victim(site, "sweep").end(Dice(3)).wrong == ()


def test_a_loss_would_be_seen(site, forecast, monkeypatch):
    """The earlier results are spoilt while the command runs, and what it writes is not what is wanted."""
    sleep = time.sleep

    def spoil(seconds):
        (site / COMMANDS["forecast"].page / "answer.json").write_text("{", encoding="utf-8")
        sleep(min(seconds, 0.05))

    monkeypatch.setattr(time, "sleep", spoil)
    monkeypatch.setattr(forecast, "_wanted", {})
    ended = forecast.end(Dice(3))
    assert isinstance(ended, Ended)
    assert any("cannot be read" in words for words in ended.wrong)
    assert "run again it leaves other bytes" in ended.wrong
