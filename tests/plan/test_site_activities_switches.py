"""Everything that happens once or inside, switched on and off: trials end, books balance, waits are kept."""

from itertools import product

import numpy as np
import pytest

from support.broken_once import ONCE
from support.small_site import Played, made, played

UNCERTAIN = (
    ("lift_min = 60", 'lift_min = { low = 40, likely = 60, high = 120, shape = "pert" }'),
    ("work_h = 20", 'work_h = { low = 10, likely = 20, high = 50, shape = "pert" }'),
    ("days = 3", 'days = { low = 1, likely = 3, high = 9, shape = "pert" }'),
    ("hours = 3", 'hours = { low = 2, likely = 3, high = 6, shape = "pert" }'),
    ("drying_h = 19", 'drying_h = { low = 6, likely = 19, high = 40, shape = "pert" }'),
)


def switched(*, mock_up: bool, test: bool, risks: bool) -> str:
    """The tables of everything, uncertain, without those switched off and the conditions on them."""
    text = ONCE
    for certain, uncertain in UNCERTAIN:
        text = text.replace(certain, uncertain)
    if not mock_up:
        text = text.replace(', { on = "mock_up" }', "").replace(_table(text, "[mock_up]"), "")
    if not test:
        text = text.replace(', { on = "water_test", level = 1 }', "").replace("tests = true", "")
        text = text.replace(_table(text, "[water_test]"), "")
    return text if risks else text[: text.index("[[risk]]")]


def _table(text: str, head: str) -> str:
    begin = text.index(head)
    return text[begin : text.index("\n[", begin) + 1]


def waits_are_kept(site: Played) -> bool:
    """Whether no step began before its predecessors had ended."""
    plan, diary = site.ready.tower.plan, site.diary
    counts = np.diff(plan.before.start)
    return bool(np.all(np.repeat(diary.started, counts) >= diary.finished[plan.before.values]))


@pytest.mark.parametrize(("mock_up", "test", "risks"), list(product((True, False), repeat=3)))
def test_trials_end_and_their_books_balance(tmp_path, mock_up, test, risks):
    ready = made(tmp_path, switched(mock_up=mock_up, test=test, risks=risks))
    names = " ".join(ready.tower.plan.names)
    assert [word in names for word in ("mock-up", "water test", "risk")] == [mock_up, test, risks]

    for trial in range(12):
        site = played(ready, seed=9, trial=trial)
        assert site.diary.finish is not None
        assert site.adds_up()
        assert waits_are_kept(site)


def test_no_lift_of_an_activity_runs_beyond_what_was_expected_to_fit(tmp_path):
    """Lifts start inside the shift of 8:00 to 16:00 with their expected 67 minutes left."""
    ready = made(tmp_path, switched(mock_up=True, test=True, risks=True))
    for trial in range(12):
        site = played(ready, seed=4, trial=trial)
        for step in ("crown: lift 1", "crown"):
            clock = site.diary.started_at(step) % 1440
            assert 8 * 60 <= clock <= 16 * 60 - 67
