"""Faults of the mock-up and of risks: the one line that a user reads."""

import pytest

from support.broken_once import faults_of_broken

CASES = {
    "a chance above 1": (
        "pass_chance = 0.65",
        "pass_chance = 65",
        "mock_up.pass_chance: found 65; allowed: a number at least 0 and at most 1",
    ),
    "no try": (
        "most_tries = 3",
        "most_tries = 0",
        "mock_up.most_tries: found 0; allowed: a whole number, at least 1 and at most 100000",
    ),
    "a mock-up before the start": (
        "start = 2027-03-02",
        "start = 2026-03-02",
        "mock_up.start: found 2026-03-02; allowed: a date on or after tower.start, which is 2027-03-01",
    ),
    "a risk without effect": (
        "delay_days = 5",
        "",
        "risk[0]: missing its effect; allowed: exactly one of delay_days, factor",
    ),
    "a risk with two effects": (
        "factor = 1.2",
        "factor = 1.2\ndelay_days = 2",
        "risk[1].factor: found a second of delay_days, factor; allowed: only delay_days",
    ),
    "a risk to nothing known": (
        'on = "crown"\ndelay_days',
        'on = "crow"\ndelay_days',
        'risk[0].on: found "crow"; '
        "allowed: handover, crown, tests, anchors, spire, mock_up, brackets, joints; nearest: crown",
    ),
    "a factor on an activity": (
        'on = "brackets"\nfactor',
        'on = "crown"\nfactor',
        'risk[1].on: found "crown"; allowed: brackets, joints',
    ),
    "a late handover of no level": (
        'on = "crown"\ndelay_days',
        'on = "handover"\ndelay_days',
        "risk[0].level: missing; allowed: the level whose handover is late",
    ),
    "a level of a late activity": (
        "delay_days = 5",
        "delay_days = 5\nlevel = 2",
        'risk[0].level: found 2; allowed: level only with on = "handover"',
    ),
}


@pytest.mark.parametrize(("old", "new", "text"), CASES.values(), ids=CASES)
def test_one_broken_passage_gives_one_line(tmp_path, old, new, text):
    assert faults_of_broken(tmp_path, old, new) == [text]


def test_two_risks_of_one_name_are_both_told(tmp_path):
    twice = faults_of_broken(tmp_path, 'name = "new crew"', 'name = "strike"')

    assert twice == [f'risk[{k}].name: found "strike" 2 times; allowed: each name once' for k in (0, 1)]
