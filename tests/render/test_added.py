"""The figure of an advice: additions named, verdicts beside them, the unknown said, nothing cut off."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.text import Text

from towerpace.answers.choice.add import BEYOND
from towerpace.render.figures.added import draw_gains

CHANGE = "calendar.site.week.sat = ('08:00-12:30', '13:00-16:15')"
ROWS = [
    ("long_saturday", CHANGE, -24.2, -29.7, -18.7, "best with 90 % confidence"),
    ("hoist", "+1", -1.8, -5.0, 0.1, "no gain shown"),
    ("bay", "+1", 0.0, 0.0, 0.0, "nobody waits for it in 20 trials"),
    ("gate", "+1", np.nan, np.nan, np.nan, BEYOND),
    ("panel_gang", "-1", np.nan, np.nan, np.nan, "needed"),
]
COLUMNS = ["resource", "change", "diff_days", "diff_low", "diff_high", "verdict"]


def drawn(rows):
    figure = draw_gains(pd.DataFrame(rows, columns=COLUMNS), run="Tower · seed 1")
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
    assert "long saturday gains 24.2 days of the finish (18.7 to 29.7): best with 90 % confidence" in shown
    assert "Tower · seed 1" in shown


def test_every_known_mean_has_its_dot_and_interval():
    axes = drawn(ROWS).axes[0]
    dots = [line.get_xdata()[0] for line in axes.lines if line.get_marker() == "o"]
    bars = [tuple(line.get_xdata()) for line in axes.lines if line.get_marker() == "|"]
    assert dots == [-24.2, -1.8, 0.0]
    assert bars == [(-29.7, -18.7), (-5.0, 0.1), (0.0, 0.0)]


def test_without_a_sure_gain_none_is_claimed():
    assert "No single addition is shown to finish earlier" in texts(drawn(ROWS[1:]))
    assert "No single addition is shown to finish earlier" in texts(drawn(ROWS[3:]))
    assert "There is nothing that could be added or taken away" in texts(drawn([]))


def test_no_words_are_cut_off():
    figure = drawn(ROWS)
    box = figure.bbox
    extents = [(t.get_text(), t.get_window_extent()) for t in figure.axes[0].texts]
    assert [text for text, e in extents if e.x0 < -2 or e.x1 > box.x1 + 2] == []
