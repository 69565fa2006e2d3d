"""Risks worked by hand: certain ones move what they befall by exactly their size, impossible ones nothing."""

import numpy as np
import pytest

from support.small_site import BASE, DAY, TWO_ZONES, at, made, played
from towerpace.answers.outline import outline


def risk(**keys: object) -> str:
    lines = [
        f'{key} = "{value}"' if isinstance(value, str) else f"{key} = {value}" for key, value in keys.items()
    ]
    return "\n".join(["[[risk]]", *lines, ""])


PERMIT = '[activity.permit]\ndays = 4\n[activity.crown]\ndays = 1\nafter = [{ on = "permit" }]\n'


@pytest.mark.parametrize(("chance", "begins"), [(1, 4 + 3), (0, 4)])
def test_a_delay_holds_an_activity_once_it_could_begin(tmp_path, chance, begins):
    late = risk(name="strike", chance=chance, on="crown", delay_days=3)
    site = played(made(tmp_path, PERMIT, late))

    assert site.diary.started_at("crown") == begins * DAY
    assert site.book().get("risks", {}) == ({"by the clock": 3 * DAY} if chance else {})
    assert site.adds_up()


def test_a_delay_of_a_dated_activity_counts_from_its_date(tmp_path):
    crown = "[activity.crown]\ndays = 1\nnot_before = 2027-03-08\n"
    site = played(made(tmp_path, crown, risk(name="strike", chance=1, on="crown", delay_days=3)))

    assert site.diary.started_at("crown") == (7 + 3) * DAY


def test_delays_of_the_same_thing_add_up(tmp_path):
    two = [
        risk(name=name, chance=1, on="crown", delay_days=days) for name, days in (("strike", 3), ("flood", 2))
    ]

    assert played(made(tmp_path, PERMIT, *two)).diary.started_at("crown") == 9 * DAY


def test_a_mock_up_may_begin_late(tmp_path):
    mock_up = "[mock_up]\ntry_days = 5\nfix_days = 10\npass_chance = 1\nmost_tries = 2\n"
    late = risk(name="no laboratory", chance=1, on="mock_up", delay_days=6)

    assert played(made(tmp_path, mock_up, late)).diary.finished_at("mock_up") == 11 * DAY


def test_a_late_level_makes_all_above_it_as_late(tmp_path):
    site = played(
        made(tmp_path, risk(name="crane failure", chance=1, on="handover", level=2, delay_days=1.5))
    )

    ends = [site.diary.finished_at(f"handover of L{level}") for level in (1, 2, 3)]
    assert ends == [0, 1.5 * DAY, 1.5 * DAY]


def test_a_delay_of_a_trade_holds_its_first_front_only(tmp_path):
    """L1 north waits two days; its gang goes to L1 south at once."""
    late = risk(name="no drawings", chance=1, on="brackets", delay_days=2)
    site = played(made(tmp_path, late, levels=TWO_ZONES))

    assert site.diary.started_at("brackets L1 south") == at(0, "8:00")
    assert site.diary.started_at("brackets L1 north") == at(2, "8:00")
    assert site.book()["brackets"]["after risk no drawings"] == 2 * DAY
    assert site.adds_up()


def test_a_factor_stretches_the_minutes_of_its_trade(tmp_path):
    site = played(made(tmp_path, risk(name="new crew", chance=1, on="brackets", factor=1.5)))

    assert [site.work(f"brackets L{level} north") for level in (1, 2, 3)] == [90, 90, 90]


def test_a_risk_befalls_as_often_as_stated(tmp_path):
    """30 % and 20 %, within 4 standard errors, and apart from each other."""
    tables = [
        PERMIT,
        risk(name="strike", chance=0.3, on="crown", delay_days=3),
        risk(name="new crew", chance=0.2, on="brackets", factor=2),
    ]
    ready, n = made(tmp_path, *tables), 2000
    plan = ready.tower.plan
    draws = [ready.chooser.draw(7, trial) for trial in range(n)]
    struck = np.array([not draw.skip[plan.index["risk strike"]] for draw in draws])
    slow = np.array([draw.work[plan.index["brackets L1 north"]] == 120 for draw in draws])

    for happened, p in ((struck, 0.3), (slow, 0.2), (struck & slow, 0.06)):
        assert abs(happened.mean() - p) < 4 * np.sqrt(p * (1 - p) / n)


def test_a_risk_that_does_not_befall_leaves_the_trial_as_it_was(tmp_path):
    """Paired with the same site without the risk: same draws elsewhere, same dates."""
    base = BASE.replace("unit_min = 6", 'unit_min = { low = 4, likely = 6, high = 12, shape = "pert" }')
    risks = [
        risk(name="strike", chance=0.5, on="crown", delay_days=3),
        risk(name="no drawings", chance=0.5, on="brackets", delay_days=2),
        risk(name="new crew", chance=0.5, on="brackets", factor=2),
    ]
    without, having = made(tmp_path / "a", PERMIT, base=base), made(tmp_path / "b", PERMIT, *risks, base=base)
    shared = [name for name in without.tower.plan.names if name in having.tower.plan.index]
    spared = 0
    for trial in range(60):
        a, b = played(without, trial=trial), played(having, trial=trial)
        befell = not b.draw.skip[
            [having.tower.plan.index[f"risk {name}"] for name in ("strike", "no drawings")]
        ].all()
        slow = a.work("brackets L1 north") != b.work("brackets L1 north")
        if not befell and not slow:
            assert [a.span(name) for name in shared] == [b.span(name) for name in shared]
            spared += 1
    assert 0 < spared < 30


def test_as_planned_no_risk_befalls(tmp_path):
    """Four days of permit and one of crown."""
    late = risk(name="strike", chance=0.9, on="crown", delay_days=30)

    assert outline(made(tmp_path, PERMIT, late)).unhindered == 5 * DAY
