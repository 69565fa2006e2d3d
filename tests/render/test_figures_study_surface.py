"""Surfaces of a study: drawn where they may be shown, with what they are worth, and nowhere else."""

import shutil
from dataclasses import replace
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest

from towerpace.answers.sweep.metamodel import metamodel
from towerpace.answers.sweep.sweep import sweep
from towerpace.render.figures.study import draw_study, write_study_figures
from towerpace.render.figures.study_slice import slice_of
from towerpace.render.figures.study_surface import surface, surface_figure
from towerpace.render.saved.study import load_saved_study

SCENARIOS = Path(__file__).parents[2] / "scenarios"
HEAD = """\
[study]
name = "Slips and work"
scenario = "one_trade/scenario.toml"
design = "{design}"
{points}
trials = 60
seed = 1
responses = ["finish.mean", "ledger.brackets.waiting_for_bracket_gang"]
"""
WORK = """
[factor.work_high]
key = "trade.brackets.unit_min.high"
low = 15.0
high = 60.0
"""
SLIP = """
[factor.slip_high]
key = "structure.slip_days.high"
low = 1.0
high = 9.0
unit = "d"
"""
PACE = """
[factor.pace_high]
key = "trade.brackets.pace.p90"
low = 1.15
high = 1.6
"""
GANGS = """
[factor.gangs]
key = "resource.bracket_gang.count"
values = [1, 2, 3, 4]
[factor.slip]
key = "structure.slip_days.high"
values = [1, 3, 5]
"""
LABELS = """
[factor.gangs]
labels = ["one", "two"]
replace = [{ "resource.bracket_gang.count" = 1 }, { "resource.bracket_gang.count" = 2 }]
"""


@pytest.fixture(scope="module")
def swept(tmp_path_factory):
    """Plays a study and gives its folder."""

    def play(name, factors, *, design="latin", points="points = 24"):
        place = tmp_path_factory.mktemp(name)
        shutil.copytree(SCENARIOS / "one_trade", place / "one_trade")
        (place / "study.toml").write_text(HEAD.format(design=design, points=points) + factors, "utf-8")
        return sweep(place / "study.toml", folder=place / "out").folder

    return play


@pytest.fixture(scope="module")
def three(swept):
    return swept("three", SLIP + WORK + PACE, points="points = 40")


@pytest.fixture(scope="module")
def written(three):
    """All figures of the study, with their bytes."""
    return {path: path.read_bytes() for path in write_study_figures(three)}


@pytest.fixture(scope="module")
def gangs(swept):
    return swept("gangs", GANGS, design="grid", points="")


def surfaces(written):
    return [path.name for path in written if path.name.startswith("surface")]


def test_a_usable_surface_is_written_and_says_what_it_is_worth(three, written):
    assert {"surface_finish_mean.png", "surface_finish_mean.svg"} <= set(surfaces(written))
    assert (three / "surface_finish_mean.png").stat().st_size > 20_000
    saved = load_saved_study(three)
    worth = metamodel(saved.frame, "finish.mean").worth
    caption, title = draw_study(three, "finish.mean", kind="surface"), slice_of(saved, "finish.mean").title()
    text = caption.get_supxlabel()
    assert f"predictive R² {worth.r2_text}, leave-one-out error {worth.rms:.2g} days" in text
    assert "Held at their middle: pace high 1.3" in text
    assert "All points share their draws: the whole surface may lie up to" in text
    assert "seed 1 · 40 points of 60 trials" in text
    assert title.startswith("From slip high ")
    assert " d finish.mean rises by " in title


def test_the_same_study_gives_the_same_bytes_again(three, written):
    assert {path: path.read_bytes() for path in write_study_figures(three)} == written


def test_the_title_says_what_the_metamodel_predicts(three):
    """The change that the title names is the difference of two predictions, by the places it names."""
    shown = slice_of(load_saved_study(three), "finish.mean")
    (start, end), (low, high), (at_low, at_high) = shown.corners()
    slip, other = shown.shown
    for at, change in ((low, at_low), (high, at_high)):
        found = shown.model.predict({**shown.middle, slip: [start, end], other: at}).mean
        assert found[1] - found[0] == pytest.approx(change)
    assert slip == "slip_high"


def test_the_plane_is_blank_where_there_are_no_points(three):
    shown = slice_of(load_saved_study(three), "finish.mean")
    x, y, values = surface(shown)
    places = {**shown.middle, shown.shown[0]: x, shown.shown[1]: y}
    assert (np.ma.getmaskarray(values) == ~shown.model.inside(places)).all()
    assert 0 < values.count() < values.size


def test_a_cut_has_the_band_of_the_metamodel(three):
    figure = draw_study(three, "finish.mean", kind="surface")
    plane, first, second = figure.axes
    shown = slice_of(load_saved_study(three), "finish.mean")
    assert plane.get_xlabel() == "slip high [d]"
    assert (first.get_xlabel(), second.get_xlabel()) == (plane.get_xlabel(), plane.get_ylabel())
    band = first.collections[0].get_paths()[0].vertices
    x = band[np.argmin(np.abs(band[:, 0] - 5.0)), 0]
    found = shown.model.predict({**shown.middle, "slip_high": x})
    ends = sorted(band[np.isclose(band[:, 0], x), 1])
    assert (ends[0], ends[-1]) == pytest.approx((float(found.low), float(found.high)))


def test_points_beside_a_cut_keep_their_distance_from_the_surface(three):
    shown = slice_of(load_saved_study(three), "finish.mean")
    rows = shown.near("slip_high")
    assert 0 < len(rows) < 40
    on_cut = shown.model.predict({**shown.middle, "slip_high": rows["slip_high"]}).mean
    own = shown.model.predict({name: rows[name] for name in shown.model.factors}).mean
    raw = shown.points.set_index("point")["value"].loc[rows["point"]]
    assert rows["value"].to_numpy() - on_cut == pytest.approx(raw.to_numpy() - own)


def test_the_two_factors_may_be_given(three):
    figure = draw_study(three, "finish.mean", kind="surface", factors=("pace_high", "work_high"))
    assert figure.axes[0].get_xlabel() == "pace high"
    assert "Held at their middle: slip high" in figure.get_supxlabel()
    with pytest.raises(ValueError, match="two of the factors slip_high, work_high, pace_high, not work_high"):
        draw_study(three, "finish.mean", kind="surface", factors=("work_high",))
    with pytest.raises(ValueError, match='chosen for kind "surface", not "pairs"'):
        draw_study(three, "finish.mean", kind="pairs", factors=("pace_high", "work_high"))


def test_one_factor_has_a_cut_alone(swept):
    folder = swept("one", WORK)
    assert "surface_finish_mean.png" in surfaces(write_study_figures(folder))
    figure = draw_study(folder, "finish.mean", kind="surface")
    assert len(figure.axes) == 1
    assert figure.get_suptitle().startswith("From work high 1")
    assert "Held" not in figure.get_supxlabel()


def test_what_may_not_be_shown_is_not_drawn(gangs):
    """Waiting for a gang ends with the second one: a step, no quadratic."""
    assert "surface_ledger_brackets_waiting_for_bracket_gang.png" not in surfaces(write_study_figures(gangs))
    with pytest.raises(ValueError, match="not a quadratic of the factors"):
        draw_study(gangs, "ledger.brackets.waiting_for_bracket_gang", kind="surface")


def test_whole_numbers_are_held_at_one_of_them(gangs):
    shown = slice_of(load_saved_study(gangs), "finish.mean")
    assert shown.middle == {"gangs": 2.0, "slip": 3.0}


def test_points_beyond_the_horizon_are_crosses_and_counted(three):
    saved = load_saved_study(three)
    is_finish = saved.frame["response"] == "finish.mean"
    latest = saved.frame["value"].where(is_finish).rank(ascending=False) <= 3
    beyond = 3 + saved.frame["value"][is_finish].isna().sum()
    cut_off = saved.frame.assign(value=saved.frame["value"].mask(latest))
    cut_off.attrs.update(saved.frame.attrs)
    figure = surface_figure(replace(saved, frame=cut_off), "finish.mean")
    assert f"{beyond} points left out (crosses): beyond the horizon" in figure.get_supxlabel()
    crosses = [line for line in figure.axes[0].lines if line.get_marker() == "x"]
    assert [len(line.get_xdata()) for line in crosses] == [beyond]


def test_labels_have_no_surface(swept):
    folder = swept("labels", WORK + LABELS)
    assert surfaces(write_study_figures(folder)) == []
    with pytest.raises(ValueError, match="labels stand in 'gangs'"):
        draw_study(folder, "finish.mean", kind="surface")


def test_drawing_leaves_the_look_of_others_alone(three):
    before = dict(mpl.rcParams)
    draw_study(three, "finish.mean", kind="surface")
    assert dict(mpl.rcParams) == before
