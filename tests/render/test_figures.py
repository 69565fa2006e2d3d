"""Figures: a title with the answer, every trade named, nothing cut off, equal bytes for equal results."""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from xml.etree import ElementTree

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.text import Text

from render.made_answer import RUN
from towerpace.answers.ledger.book import STRIP
from towerpace.answers.ledger.waits import AGAIN, LINE, SHIFT
from towerpace.answers.said.people import share
from towerpace.render.figures import causes, style
from towerpace.render.figures.causes import BUSY, CALENDAR, GROUPS, WORKING, group_of
from towerpace.render.figures.drawing import draw, write_figures
from towerpace.render.figures.forecast import FIGURES
from towerpace.render.figures.style import wrapped
from towerpace.render.figures.time import shares


def texts(figure):
    return " | ".join(t.get_text().replace("\n", " ") for t in figure.findobj(Text) if t.get_text())


def title(figure):
    return figure.get_suptitle().replace("\n", " ")


@pytest.fixture(scope="module")
def drawn(ten, framed):
    shown = framed(ten)
    return {name: draw(name, shown) for name in shown.answer.figures}


def test_every_figure_has_a_title_in_words_and_the_run_at_its_foot(ten, drawn):
    assert list(drawn) == [name for name in FIGURES if name != "activities"]  # nothing happens once there
    for figure in drawn.values():
        assert len(title(figure).split()) >= 5
        assert f"Every Table · scenario {ten.scenario.hash[:12]} · seed 3 · 10 trials" in texts(figure)


def test_the_title_of_the_finish_says_when_half_and_four_in_five_finish(ten, drawn):
    days = [ten.days.date_of(ten.finish_at(p).value) for p in (0.5, 0.8)]
    half, fifths = (f"{day.day} {day:%b %Y}" for day in days)
    expected = f"Half of the trials finish by {half}, four in five by {fifths}"

    assert title(drawn["finish"]) == (expected if half != fifths else f"Four in five trials finish by {half}")


def test_every_trade_is_named_in_the_flow_and_where_time_goes(ten, drawn):
    for name in ("flow", "time"):
        for trade in ten.tower.trades:
            assert trade in texts(drawn[name])
    assert "structure" in texts(drawn["flow"])


def test_contract_dates_stand_with_their_chance(ten, drawn):
    chances = {c.name: share(c.chance.value) for c in ten.contracts}

    assert f"end 8 Apr 2027 met in {chances['end']}" in texts(drawn["finish"])
    assert f"release 2 Apr 2027: met in {chances['release']}" in texts(drawn["closing_in"])
    assert f"end 8 Apr 2027: met in {chances['end']}" in texts(drawn["flow"])


def cut_off(figure):
    """Words that reach out of the figure."""
    figure.canvas.draw()
    box = figure.bbox
    found = []
    for text in [t for axes in figure.axes for t in axes.texts] + [figure._suptitle, figure._supxlabel]:
        extent = text.get_window_extent()
        inside = extent.x0 >= -2 and extent.x1 <= box.x1 + 2 and extent.y0 >= -2 and extent.y1 <= box.y1 + 2
        if not inside:
            found.append(text.get_text())
    return found


def test_no_words_are_cut_off(drawn):
    assert {name: found for name, figure in drawn.items() if (found := cut_off(figure))} == {}


def test_far_and_many_contract_dates_are_all_shown(playing, framed):
    far = {"contract__much_later__date": date(2028, 3, 1), "contract__second__date": date(2027, 4, 12)}
    shown = framed(playing(trials=5, **far))

    for name in ("finish", "flow"):
        figure = draw(name, shown)
        assert cut_off(figure) == []
        low, high = figure.axes[0].get_ylim()
        for word in ("end", "second", "much later"):
            there = [t for t in figure.axes[0].texts if t.get_text().startswith(f"{word}\n")]
            assert len(there) == 1
            assert low <= there[0].xy[1] <= high
        assert figure.axes[0].get_xlim()[1] < style.day_number(date(2027, 12, 1))


def test_names_in_the_flow_stand_inside_its_axes(playing, framed):
    for made in (playing(trials=2), playing(trials=2, one_trade=True)):
        axes = draw("flow", framed(made)).axes[0]
        low, high = axes.get_ylim()
        places = [text.get_position()[1] for text in axes.texts if text.get_text().startswith(" ")]
        assert len(places) == len(made.tower.trades) + 1
        assert low < min(places)
        assert max(places) < high


def test_trials_beyond_the_horizon_are_said(late, framed):
    shown = framed(late)

    finish = draw("finish", shown)
    assert f"{late.beyond} of 10 trials are not finished by 5 Apr 2027" in texts(finish)
    assert "beyond the horizon" in texts(finish)
    heights = sum(patch.get_height() for patch in finish.axes[1].patches)
    assert heights == pytest.approx(100 * (10 - late.beyond) / 10)
    for name in shown.answer.figures:
        assert cut_off(draw(name, shown)) == []


def test_nothing_finished_can_be_drawn_too(playing, framed):
    made = playing(trials=3, tower__horizon_days=20, contract=None)
    assert made.beyond == 3
    shown = framed(made)

    assert title(draw("finish", shown)).startswith("Fewer than half of the trials finish by 20 Mar 2027")
    for name in shown.answer.figures:
        assert cut_off(draw(name, shown)) == []


def test_too_few_trials_for_an_interval_are_said(playing, framed):
    finish = draw("finish", framed(playing(trials=5)))

    assert "too few trials (5) for 95 % intervals" in texts(finish)


def test_the_histogram_and_the_curve_count_every_trial(ten, drawn):
    upper, lower = drawn["finish"].axes
    curve = next(line for line in upper.lines if line.get_drawstyle() == "steps-post")

    assert sum(patch.get_height() for patch in lower.patches) == pytest.approx(100)
    assert curve.get_ydata()[-1] == pytest.approx(100)
    days = sorted((ten.days.date_of(m) - date(1970, 1, 1)).days for m in ten.finish.tolist())
    assert curve.get_xdata()[1:-1].tolist() == days


def test_one_trade_one_level_and_one_trial_make_figures_without_panels(playing, framed):
    shown = framed(playing(trials=1, one_trade=True))

    assert list(shown.answer.figures) == ["finish", "flow", "time"]
    for name in shown.answer.figures:
        figure = draw(name, shown)
        assert cut_off(figure) == []
        assert "only trial" in title(figure) or name == "time"


def test_every_minute_of_the_ledger_but_the_hours_outside_the_shift_is_shown(ten, framed):
    shown = framed(ten)
    ledger = shown["ledger"]

    hours = shares(shown, WORKING).to_numpy().sum() + shares(shown, CALENDAR).to_numpy().sum() * 24 * 6
    assert hours == pytest.approx(ledger.loc[ledger["cause"] != SHIFT, "mean_h"].sum())


def test_only_causes_outside_the_window_of_a_step_run_on_the_calendar():
    """Waits for crates, curing and others have no shift; waits for a pool are counted inside it."""
    assert {
        group_of(c).clock for c in ("after truck", "after curing", "after seal", "no room on the floor")
    } == {CALENDAR}
    assert {
        group_of(c).clock for c in ("waiting for gang", "wind", "work", "too little shift left to start")
    } == {WORKING}
    assert group_of(SHIFT) is None


def test_every_cause_of_the_ledger_has_a_group_of_its_own_kind(ten):
    named = [cause for cause in ten.causes if not cause.startswith(("waiting for ", "after "))]

    assert all(group_of(cause) for cause in ten.causes if cause != SHIFT)
    assert [c for c in named if c != SHIFT and group_of(c).name == BUSY] == [LINE, STRIP]
    assert group_of(AGAIN).name == "work begun again"
    with pytest.raises(KeyError):
        group_of("a new cause")


@pytest.mark.parametrize("clock", [WORKING, CALENDAR])
def test_groups_of_one_clock_differ_in_lightness_or_hatch(clock):
    """ITU-R BT.601 weights for lightness; a step of 0.1 can be told apart on paper (common practice)."""
    seen = [
        (g.hatch, np.dot(mpl.colors.to_rgb(g.colour), (0.299, 0.587, 0.114)))
        for g in GROUPS
        if g.clock == clock
    ]

    for k, (hatch, light) in enumerate(seen):
        for other_hatch, other_light in seen[k + 1 :]:
            assert hatch != other_hatch or abs(light - other_light) > 0.1


def test_figures_do_not_depend_on_the_settings_of_the_user_and_leave_them_alone(ten, framed, tmp_path):
    shown = framed(ten)
    with mpl.rc_context({"font.size": 30, "svg.hashsalt": None, "axes.grid": True}):
        write_figures(shown, tmp_path)
        assert mpl.rcParams["font.size"] == 30
    first = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    write_figures(shown, tmp_path)

    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == first


def test_drawing_never_asks_for_a_screen():
    """The module pyplot would choose a window system and keep figures alive."""
    code = "import sys, towerpace.render.figures.forecast; assert 'matplotlib.pyplot' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)


def test_a_date_is_not_torn_apart_at_the_end_of_a_title_line():
    text = "word " * 14 + "finish by 8 Apr 2028 and then some more words"

    for line in range(len(text)):
        assert "8 Apr 2028" in wrapped("x" * line + " " + text)


def test_a_share_is_never_rounded_to_certainty():
    assert [share(s) for s in (0, 0.001, 0.5, 0.999, 1)] == [
        "0 %",
        "under 1 %",
        "50 %",
        "over 99 %",
        "100 %",
    ]


@pytest.mark.parametrize("module", [causes, style])
def test_examples_in_the_docstrings_hold(module):
    import doctest

    assert doctest.testmod(module).failed == 0
    assert doctest.testmod(module).attempted > 0


def test_a_name_with_dollars_is_no_formula(tmp_path):
    with style.look():
        figure = style.new_sheet(title="All of $1^^2$ is done", run="$1^^2$", height_in=3)
        axes = figure.subplots()
        axes.set_yticks([0.0], ["$1^^2$"])
    style.write_figure(figure, tmp_path / "named", run=RUN)
    assert (tmp_path / "named.svg").read_text(encoding="utf-8").count("$1^^2$") >= 3


def test_what_has_a_halo_stays_text_in_an_svg_and_lies_on_itself_in_white(tmp_path):
    """SVG 1.1, 5.6 and 3.3: `use` draws what it names once more, and what comes later lies above."""
    with style.look():
        figure = style.new_sheet(title="One is named", run="run", height_in=3)
        named = figure.subplots().text(0.5, 0.5, "panels & <seals>", path_effects=style.HALO)
        style.write_figure(figure, tmp_path / "named", run=RUN)
    assert (named.get_path_effects(), named.get_gid(), figure.dpi) == (style.HALO, None, 100)
    root = ElementTree.fromstring((tmp_path / "named.svg").read_text(encoding="utf-8"))
    svg, link = "{http://www.w3.org/2000/svg}", "{http://www.w3.org/1999/xlink}href"
    drawn = list(root.iter())
    (halo,) = (one for one in drawn if one.tag == f"{svg}use" and "#halo" in one.get(link))
    (lettered,) = (one for one in drawn if one.get("id") == halo.get(link).removeprefix("#"))
    assert [one.text for one in lettered.iter(f"{svg}text")] == ["panels & <seals>"]
    assert "stroke: #ffffff" in halo.get("style")
    assert drawn.index(halo) < drawn.index(lettered)


def test_marks_of_dates_are_found_anew_when_another_stretch_is_shown():
    with style.look():
        axes = style.new_sheet(title="Two stretches", run="run", height_in=3).subplots()
        for low, high in ((21000.0, 21030.0), (21000.0, 21700.0)):
            style.date_axis(axes, low=low, high=high)
            first = list(axes.get_xticks())
            assert sum(low <= mark <= high for mark in first) >= 4
            axes.set_xlim(low + 700, high + 700)
            moved = list(axes.get_xticks())
            assert sum(low + 700 <= mark <= high + 700 for mark in moved) >= 4
            axes.set_xlim(low, high)
            assert list(axes.get_xticks()) == first


def test_no_bar_is_drawn_of_nothing(drawn):
    widths = [bar.get_width() for axes in drawn["time"].axes for bar in axes.patches]
    assert widths
    assert all(width > 0 for width in widths)
