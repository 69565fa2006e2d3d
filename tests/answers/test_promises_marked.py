"""Promises that are due: groups of like chances, the Brier score of right ones, and the figures of both."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from answers.test_score import CERTAIN, bare, site
from towerpace import forecast, score, update
from towerpace.answers.score.marks import brier, brier_of_right
from towerpace.answers.score.promise_tables import RELIABILITY, SETTLED, given, promise_tables
from towerpace.answers.score.score import Settled
from towerpace.record.amounts import Amount
from towerpace.record.promises import Promise
from towerpace.record.words import Place
from towerpace.render.figures.drawing import draw
from towerpace.render.frames import Framed

DAY = date(2027, 3, 8)


def settled(chances, kept):
    """Promises with these chances, all due on a day, kept or not."""
    amount, place = Amount(1.0, True, "all"), Place("panels", 1, "north")
    promises = [Promise(k, str(k), DAY, place, amount, DAY, "", "") for k in range(len(chances))]
    late = timedelta(1)
    return [
        Settled(promise, DAY if done else DAY + late, told=True, chance=share)
        for promise, share, done in zip(promises, chances, kept, strict=True)
    ]


def groups(chances, kept):
    tables = {table.name: table for table in promise_tables(settled(chances, kept))}
    return tables["reliability"].rows


def test_equal_chances_are_never_parted():
    """Ten sure promises of which two were missed are one group, wherever they stand in the file."""
    chances = [1.0] * 10 + [0.5] * 20
    kept = [False, True] * 2 + [True] * 6 + [True, False] * 10
    assert groups(chances, kept) == groups(chances[::-1], kept[::-1])
    rows = groups(chances, kept)
    assert [(row[2], row[3], row[4]) for row in rows] == [(20, 0.5, 0.5), (10, 1.0, 0.8)]
    assert all(row[5] < row[4] < row[6] for row in rows)


def test_groups_are_of_about_one_size_and_hold_everybody():
    chances = np.linspace(0.01, 0.99, 33)
    rows = groups(chances.tolist(), [True] * 33)
    assert [row[2] for row in rows] == [7, 7, 7, 7, 5]
    assert rows[0][0] == pytest.approx(0.01)
    assert rows[-1][1] == pytest.approx(0.99)


def test_fewer_than_thirty_promises_are_counted_only():
    assert not groups([0.5] * 29, [True] * 29)
    assert groups([0.5] * 30, [True] * 30)
    chances, _ = given(settled([0.4, None, 0.2], [True, True, False]))
    assert chances.tolist() == [0.2, 0.4]


def test_a_right_brier_score_is_called_bad_as_often_as_said():
    rng = np.random.default_rng(29)
    chances = rng.beta(2, 1, 40)
    called = []
    for _ in range(2000):
        mark = brier(chances, rng.random(40) < chances)
        mean, so_high = brier_of_right(chances, mark)
        called.append((mark - mean, so_high < 0.05))
    off, bad = np.mean(called, axis=0)
    assert abs(off) < 4 * np.std([one for one, _ in called]) / 2000**0.5
    # 5 % within three standard errors, and a little for the normal law.
    assert bad == pytest.approx(0.05, abs=3 * (0.05 * 0.95 / 2000) ** 0.5 + 0.01)


@pytest.mark.slow
def test_every_figure_of_marks_is_drawn():
    scenario, folder = site(CERTAIN)
    start = bare(forecast(scenario, trials=6), folder / "start")
    later = bare(update(scenario, folder / "progress.csv", at=date(2027, 3, 5), trials=6), folder / "later")
    rows = (
        "id,made,what,level,zone,done,by,reason\n"
        "a,2027-03-01,panels,1,north,all,2027-03-05,\nb,2027-03-01,panels,4,north,all,2027-03-10,wind\n"
    )
    (folder / "promises.csv").write_text(rows, encoding="utf-8")
    sheet, promised = folder / "progress.csv", folder / "promises.csv"
    alone = score(start, sheet, scenario=scenario)
    assert alone.figures == ("came",)
    marked = score([start, later], sheet, scenario=scenario, promises=promised)
    assert marked.figures == ("came", "trend", "kept")
    assert "came on" in marked.plot("trend").get_suptitle()
    # The forecast is certain and right: first and last alike.
    assert marked.plot("trend").get_suptitle().replace("\n", " ").count("right to the day") == 2
    assert marked.plot("kept").get_suptitle() == "1 of 2 promises that were due were kept (50 %)"
    chances = np.linspace(0.1, 1.0, 40).tolist()
    table = RELIABILITY.filled(groups(chances, [True] * 40))
    answer = replace(marked.answer, tables=[*marked.answer.tables, table])
    title = draw("reliability", Framed(answer)).get_suptitle()
    assert title.startswith("Of 8 promises given 18 %, 100 % were kept")


@pytest.mark.parametrize(
    ("told", "reason", "kept", "missed", "quarrels"),
    [
        (True, "", True, False, False),
        (False, "", True, False, False),
        (False, "wind", False, True, False),
        (True, "wind", True, False, True),
    ],
)
def test_a_reason_counts_for_more_than_a_guess_of_the_day(told, reason, kept, missed, quarrels):
    """Sheets far apart leave the day to the order of work; who writes why it was missed was there."""
    (one,) = settled([0.5], [True])
    one = replace(one, told=told, promise=replace(one.promise, reason=reason))
    assert (one.kept, one.missed_by_reason, one.quarrels) == (kept, missed, quarrels)
    row = dict(zip((c.name for c in SETTLED.columns), next(promise_tables([one])).rows[0], strict=True))
    assert row["kept"] is kept
    assert row["done"] == (None if missed else DAY)


def test_a_promise_that_is_late_by_the_record_is_not_missed_by_its_reason():
    (one,) = settled([0.5], [False])
    one = replace(one, told=False, promise=replace(one.promise, reason="wind"))
    assert (one.kept, one.missed_by_reason) == (False, False)
