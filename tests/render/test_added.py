"""The figure of an advice: additions named, verdicts beside them, the unknown said, nothing cut off."""

from __future__ import annotations

from datetime import date

import pytest
from matplotlib.text import Text

from towerpace.answers.choice.add import BEYOND
from towerpace.answers.choice.add_tables import RANKING
from towerpace.answers.said.answer import Answer, Run
from towerpace.render.figures.drawing import draw
from towerpace.render.frames import Framed

CHANGE = "calendar.site.week.sat = ('08:00-12:30', '13:00-16:15')"
BEST = "90 % sure it is the best"
ROWS = [
    ("long_saturday", "long_saturday", CHANGE, -24.2, -29.7, -18.7, BEST),
    ("hoist +1", "hoist", "+1", -1.8, -5.0, 0.1, "no gain shown"),
    ("bay +1", "bay", "+1", 0.0, 0.0, 0.0, "nobody waits for it in 20 trials"),
    ("gate +1", "gate", "+1", None, None, None, BEYOND),
    ("panel_gang -1", "panel_gang", "-1", None, None, None, "needed"),
]
COLUMNS = ["addition", "resource", "change", "diff_days", "diff_days_low", "diff_days_high", "verdict"]
RUN = Run("Tower", "tower.toml", "ab" * 32, 1, 760, 760, date(2027, 3, 1), date(2027, 9, 1), 3, 1, "0")


def drawn(rows):
    filled = [dict(zip(COLUMNS, row, strict=True)) for row in rows]
    table = RANKING.filled([tuple(row.get(c.name) for c in RANKING.columns) for row in filled])
    figure = draw("gains", Framed(Answer("add", RUN, "", tables=[table])))
    figure.canvas.draw()
    return figure


def texts(figure):
    return [t.get_text().replace("\n", " ") for t in figure.findobj(Text) if t.get_text()]


def test_additions_stand_with_their_verdicts_and_candidates_by_their_name():
    shown = texts(drawn(ROWS))
    for name in ("long saturday", "hoist +1", "bay +1", "gate +1", "panel gang -1"):
        assert name in shown
    assert not [text for text in shown if "calendar" in text]
    assert [text for text in shown if BEYOND in text] == [BEYOND, f"needed; no mean, as {BEYOND}"]
    assert f"long saturday gains 24.2 days of the finish (18.7 to 29.7): {BEST}" in shown
    assert [text for text in shown if text.startswith("Tower · scenario abab") and "760 trials" in text]


def test_every_known_mean_has_its_dot_and_interval():
    axes = drawn(ROWS).axes[0]
    dots = [line.get_xdata()[0] for line in axes.lines if line.get_marker() == "o"]
    bars = [tuple(line.get_xdata()) for line in axes.lines if line.get_marker() == "|"]
    assert dots == [-24.2, -1.8, 0.0]
    assert bars == [(-29.7, -18.7), (-5.0, 0.1), (0.0, 0.0)]


@pytest.mark.parametrize(
    ("rows", "title"),
    [
        (ROWS[1:], "No addition is shown to finish earlier"),
        (ROWS[3:], "No addition is shown to finish earlier"),
        ([], "There is nothing that could be added or taken away"),
    ],
)
def test_without_a_sure_gain_none_is_claimed(rows, title):
    assert title in texts(drawn(rows))


def test_no_words_are_cut_off():
    figure = drawn(ROWS)
    box = figure.bbox
    extents = [(t.get_text(), t.get_window_extent()) for t in figure.axes[0].texts]
    assert [text for text, e in extents if e.x0 < -2 or e.x1 > box.x1 + 2] == []


def test_a_gain_that_is_the_same_in_every_trial_is_claimed_without_an_interval():
    row = ("crew and hoist +1 each", "crew and hoist", "+1 each", -4.0, None, None, BEST)
    shown = texts(drawn([row]))
    assert f"crew and hoist +1 each gain 4.0 days of the finish in every trial: {BEST}" in shown
