"""The mock-up: a test of five days, repairs of ten, tried until it passes."""

import numpy as np
import pytest

from support.small_site import BASE, DAY, made, played
from towerpace.answers.outline import outline

TRIES = "[mock_up]\ntry_days = 5\nfix_days = 10\npass_chance = {chance}\nmost_tries = {most}\n"


def mock_up(*, chance: float, most: int, more: str = "") -> str:
    return TRIES.format(chance=chance, most=most) + more


def length_days(site) -> float:
    return site.diary.finished_at("mock_up") / DAY


@pytest.mark.parametrize(("chance", "most", "days"), [(1, 4, 5), (0, 1, 5), (0, 2, 20), (0, 3, 35)])
def test_a_try_that_fails_costs_a_repair_and_a_try_and_the_last_one_ends_the_matter(
    tmp_path, chance, most, days
):
    assert length_days(played(made(tmp_path, mock_up(chance=chance, most=most)))) == days


def test_it_begins_on_its_date_or_after_its_conditions(tmp_path):
    dated = played(made(tmp_path / "a", mock_up(chance=1, most=2, more="start = 2027-03-11")))
    assert dated.span("mock-up: try 1") == (10 * DAY, 15 * DAY)

    more = 'after = [{ on = "drawings" }]\n[activity.drawings]\ndays = 7\n'
    waiting = played(made(tmp_path / "b", mock_up(chance=1, most=2, more=more)))
    assert waiting.span("mock-up: try 1") == (7 * DAY, 12 * DAY)


def test_trades_and_activities_may_wait_for_it(tmp_path):
    base = BASE.replace('{ on = "handover" }', '{ on = "handover" }, { on = "mock_up" }')
    release = '[activity.release]\ndays = 1\nafter = [{ on = "mock_up" }]\n'
    site = played(made(tmp_path, mock_up(chance=0, most=2), release, base=base))

    assert site.span("release") == (20 * DAY, 21 * DAY)
    # Day 20 is a Sunday; its eight hours and the next begin on Monday.
    assert site.diary.started_at("brackets L1 north") == 21 * DAY + 8 * 60
    assert site.book()["activities"]["by the clock"] == 21 * DAY
    assert site.adds_up()


def test_the_number_of_tries_is_geometric(tmp_path):
    """35 % fail: 0.65, 0.35 x 0.65, 0.35 ** 2 x 0.65, the rest at the fourth try; 4 standard errors each."""
    ready = made(tmp_path, mock_up(chance=0.65, most=4))
    index, n = ready.tower.plan.index, 3000
    last = [index[f"mock-up: try {k}"] for k in (2, 3, 4)]
    skips = np.array([ready.chooser.draw(11, trial).skip[last] for trial in range(n)])
    tries = 4 - skips.sum(axis=1)

    expected = [0.65, 0.35 * 0.65, 0.35**2 * 0.65, 0.35**3]
    for k, p in enumerate(expected, start=1):
        assert abs(np.mean(tries == k) - p) < 4 * np.sqrt(p * (1 - p) / n), k


def test_a_repair_goes_with_the_try_after_it(tmp_path):
    ready = made(tmp_path, mock_up(chance=0.5, most=4))
    index = ready.tower.plan.index
    for trial in range(40):
        skip = ready.chooser.draw(5, trial).skip
        for k in (2, 3, 4):
            assert skip[index[f"mock-up: try {k}"]] == skip[index[f"mock-up: repair before try {k}"]]


def test_more_tries_allowed_change_nothing_in_trials_that_pass_earlier(tmp_path):
    """The draw is keyed by the number of the try."""
    uncertain = '= { low = 3, likely = 5, high = 9, shape = "pert" }'
    few, many = (
        made(tmp_path / str(most), mock_up(chance=0.5, most=most).replace("= 5", uncertain))
        for most in (3, 6)
    )
    same = 0
    for trial in range(60):
        a, b = played(few, trial=trial), played(many, trial=trial)
        passed_by_3 = bool(b.draw.skip[many.tower.plan.index["mock-up: try 4"]])
        if passed_by_3:
            assert length_days(a) == length_days(b)
            same += 1
    assert 30 < same < 60


def test_as_planned_the_first_try_passes(tmp_path):
    """Brackets end on Monday at 11:00, the mock-up after its one try of five days."""
    assert outline(made(tmp_path, mock_up(chance=0.1, most=5))).unhindered == 5 * DAY
