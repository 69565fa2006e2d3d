"""The variants of a bid: each against the scenario that states what it assumes, on the same draws."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from support.short_tower import write_short_tower
from towerpace import InputError, bid, forecast, load
from towerpace.answers.bid.variants import ANSWERED, RISKS, TOGETHER, WIND, YEARS, cases_of
from towerpace.answers.prepare import prepare

SCENARIOS = Path(__file__).parents[2] / "scenarios"
RISK = (
    '[[risk]]\nname = "late gang"\nchance = 0.6\non = "panels"\nfactor = { low = 1.2, likely = 1.6, '
    'high = 2.0, shape = "pert" }\nresponse = "a second firm"\nchance_after = 0.1\n\n'
    '[[risk]]\nname = "stop"\nchance = 0.3\non = "handover"\nlevel = 2\ndelay_days = 5\nowner = "site"\n\n'
)
TRIALS = 30
EXTENT = {"trials": TRIALS, "sources": False, "second_seed": False, "swing_trials": 0, "years": 0}


def tower(folder, risk=RISK):
    return write_short_tower(folder, replace={"[closing_in]\n": f"{risk}[closing_in]\n"})


@pytest.fixture
def asked(tmp_path):
    return bid(load(tower(tmp_path)), **EXTENT)


def test_a_response_is_the_scenario_that_states_what_remains(asked, tmp_path):
    stated = tmp_path / "after"
    stated.mkdir()
    own = forecast(load(tower(stated, RISK.replace("chance = 0.6", "chance = 0.1"))), trials=TRIALS).detail
    base = forecast(load(tower(tmp_path)), trials=TRIALS).detail
    row = asked.frame("variants").set_index(["group", "variant"]).loc[(ANSWERED, "late gang")]
    assert row["mean_days"] == pytest.approx((own.finish - base.finish).mean() / 1440)
    assert row["mean_days"] < 0
    register = asked.frame("risks").set_index("risk")
    assert register.loc["late gang", "gain_days"] == row["mean_days"]
    assert register.loc["late gang", ["chance", "chance_after", "effect"]].tolist() == [
        0.6,
        0.1,
        "+60 % minutes",
    ]
    assert register.loc["stop", ["on", "owner"]].tolist() == ["handover of L2", "site"]
    assert np.isnan(register.loc["stop", "gain_days"])


def test_a_risk_without_a_response_is_said(asked):
    chapter = next(c for c in asked.answer.chapters if "variants" in c.shows)
    assert "1 of 2 risks have no response: stop." in chapter.sentences


@pytest.fixture(scope="module")
def windy():
    ready = prepare(load(SCENARIOS / "mast_climbers" / "scenario.toml"))
    return ready, {(case.group, case.name): case.chooser() for case in cases_of(ready)}


def test_a_windier_year_is_the_same_weather_with_more_wind(windy):
    ready, cases = windy
    base, windier = ready.chooser.hours(1, 3), cases[WIND, "every year 4 % windier"].hours(1, 3)
    assert windier.gust_m_s == pytest.approx(1.04 * base.gust_m_s)
    assert windier.speed_m_s == pytest.approx(1.04 * base.speed_m_s)
    assert np.array_equal(windier.temperature_c, base.temperature_c)


def test_a_year_of_the_record_is_the_same_in_every_trial(windy):
    ready, cases = windy
    (year,) = ready.chooser.weather.record.years
    played = [cases[YEARS, f"{year} as it came"].hours(1, trial) for trial in (0, 3)]
    assert np.array_equal(played[0].gust_m_s, ready.chooser.weather.replayed(0).gust_m_s)
    assert np.array_equal(played[0].gust_m_s, played[1].gust_m_s)


def test_paces_together_are_more_alike_than_independent_ones():
    ready = prepare(load(SCENARIOS / "gannet_wharf" / "scenario.toml"))
    cases = {(case.group, case.name): case.chooser() for case in cases_of(ready)}
    own = [ready.tower.first[ready.tower.trades.index(trade)] for trade in ("seal", "framing")]

    def alike(chooser):
        numbers = [chooser.numbers(1, trial).work for trial in range(40)]
        minutes = np.array([[work[steps].sum() for steps in own] for work in numbers])
        return np.corrcoef(minutes.T)[0, 1]

    assert alike(cases[TOGETHER, "any two at 0.7"]) > alike(cases[TOGETHER, "all paces independent"]) + 0.3
    assert (RISKS, "none befalls") in cases


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        (
            'response = "a second firm"\n',
            "",
            r"risk\[0\]\.response: missing; allowed: .*as chance_after is given",
        ),
        (
            "chance_after = 0.1",
            "delay_days_after = 2",
            r"risk\[0\]\.delay_days_after: .*only with delay_days",
        ),
        ("chance_after = 0.1", "chance_after = 2", r"risk\[0\]\.chance_after: found 2"),
    ],
)
def test_what_remains_must_fit_the_risk(tmp_path, old, new, fault):
    with pytest.raises(InputError, match=fault):
        load(tower(tmp_path, RISK.replace(old, new)))


def test_the_document_of_a_bid_is_told(tmp_path):
    words = '[bid]\nprepared_by = "planning"\nexclusions = ["strikes", "changes"]\n\n'
    table = bid(load(tower(tmp_path, RISK + words)), variants=False, **EXTENT).frame("document")
    said = dict(zip(table["item"].fillna(""), table["said"].fillna(""), strict=True))
    assert said["prepared by"] == "planning"
    assert table["said"].fillna("").tolist()[-2:] == ["strikes", "changes"]
    assert said["reviewed by"] == ""
