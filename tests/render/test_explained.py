"""The figures of an explanation, drawn from its tables, and its folder."""

from __future__ import annotations

from pathlib import Path

import pytest
from matplotlib.text import Text

from support.short_tower import TOO_SHORT, write_short_tower
from towerpace import explain
from towerpace.answers.prepare import prepare
from towerpace.answers.why.chain import DATE_CAUSE
from towerpace.answers.why.explain import ChainReader
from towerpace.render.figures import explained_chain
from towerpace.render.figures.drawing import draw
from towerpace.render.figures.explained import NIGHTS, group_of_chain, held_days
from towerpace.render.figures.explained_waiting import waits
from towerpace.render.frames import Framed
from towerpace.render.saved.answer_file import load_saved
from towerpace.scenario import load

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TRIALS, SEED, TRIAL = 8, 5, 4


@pytest.fixture(scope="module")
def explained(tmp_path_factory):
    path = write_short_tower(tmp_path_factory.mktemp("tower"), levels=3)
    return explain(load(path), trials=TRIALS, seed=SEED, trial=TRIAL)


@pytest.fixture(scope="module")
def framed(explained):
    return Framed(explained.answer)


def texts(figure):
    return " | ".join(t.get_text().replace("\n", " ") for t in figure.findobj(Text) if t.get_text())


def test_a_folder_gives_the_answer_back(explained, tmp_path):
    saved = load_saved(explained.save(tmp_path / "run"))
    for name in explained.tables:
        assert Framed(saved.answer)[name].equals(explained.frame(name))
    assert {f"{name}.png" for name in explained.figures} <= {p.name for p in (tmp_path / "run").iterdir()}


def test_links_follow_each_other_and_their_causes_fill_them(framed):
    chain, causes = framed["chain"], framed["chain_causes"]
    assert (chain["since_min"].iloc[1:].to_numpy() == chain["finished_min"].iloc[:-1].to_numpy()).all()
    assert causes["minutes"].sum() == chain["finished_min"].iloc[-1]


def test_without_a_trial_there_is_no_chain_and_no_diary(explained):
    bare = explain(explained.detail.ready.scenario, trials=2, seed=SEED)
    assert bare.figures == ("held_the_finish", "who_waits_for_what")
    assert not {"chain", "diary", "stretches"} & set(bare.tables)


def test_a_trial_that_does_not_finish_has_no_chain_to_draw(tmp_path):
    late = explain(
        load(write_short_tower(tmp_path, replace=TOO_SHORT)), trials=TRIALS, seed=SEED, trial=TRIAL
    )
    assert late.figures == ("who_waits_for_what",)
    assert late.frame("unfinished")["trial"].nunique() == TRIALS
    assert "8 of 8 trials do not finish" in late.answer.cautions[0]
    assert "does not finish: it has no controlling chain" in late.answer.chapters[-1].sentences[0]
    late.save(tmp_path / "run")


def test_every_cause_of_a_chain_has_a_group_and_the_night_has_its_own():
    causes = ChainReader(prepare(load(SCENARIOS / "gannet_wharf" / "scenario.toml")).tower).causes
    groups = {cause: group_of_chain(cause) for cause in causes if cause != DATE_CAUSE}
    assert groups["outside shift"] is NIGHTS
    assert groups["wind"].name == "wind"


def test_the_bars_name_every_trade_and_every_group_that_held(framed):
    shown, table = texts(draw("held_the_finish", framed)), held_days(framed)
    # The first truck is due a week after the start: no trade's days.
    assert table.to_numpy().sum() == pytest.approx(framed.answer.fact("mean_days") - 7)
    assert "until 8 Mar 2027 nothing on the chain could start" in shown
    for trade in table.index:
        assert trade in shown
    for group in table.columns[table.sum(axis=0) > 0]:
        assert group in shown
    assert f"{table.sum(axis=1).max():,.1f} d" in shown


def test_cells_of_the_waiting_matrix_hold_their_numbers(framed):
    figure, table = draw("who_waits_for_what", framed), waits(framed, "shift")
    most = float(table.values.max())
    assert f"{most:,.0f}" in [t.get_text() for t in figure.axes[0].texts]
    rows = framed["waiting"]
    own = rows[(rows["clock"] == "shift") & (rows["awaited"] == table.what[0])]
    assert table.values[:, 0].sum() == pytest.approx(own["mean_h"].sum())


def test_the_chain_is_drawn_from_its_begin_to_the_finish(framed):
    figure, finish = draw("chain_of_trial", framed), framed.answer.fact("trial_finish")
    assert f"Trial {TRIAL} finishes on {finish.day} {finish:%b %Y}" in texts(figure)
    assert "hoisting: " in texts(figure)


def cut_off(figure):
    """Words of the axes beyond their sides, or anything beyond the figure."""
    figure.canvas.draw()
    box = figure.bbox
    words = [(t, axes.bbox) for axes in figure.axes for t in axes.texts]
    words += [(t, box) for t in (figure._suptitle, figure._supxlabel)]
    extents = [(t, t.get_window_extent(), sides) for t, sides in words]
    return [
        t.get_text()
        for t, e, sides in extents
        if e.x0 < sides.x0 - 2 or e.x1 > sides.x1 + 2 or e.y0 < -2 or e.y1 > box.y1 + 2
    ]


def test_no_words_are_cut_off(explained, framed):
    assert {name: cut for name in explained.figures if (cut := cut_off(draw(name, framed)))} == {}


LONG = "of the tower by the wharf, at high tide"


def test_a_long_name_at_the_left_is_moved_inside(framed, monkeypatch):
    """The chain begins at the left with a short delivery, whose name would reach over the side."""
    monkeypatch.setattr(
        explained_chain, "words", lambda name: f"{name} of the tower by the wharf, at high tide"
    )
    figure = draw("chain_of_trial", framed)
    figure.suptitle("")
    assert cut_off(figure) == []
    monkeypatch.setattr(explained_chain, "_keep_inside", lambda *_: None)
    left = draw("chain_of_trial", framed)
    left.suptitle("")
    assert cut_off(left) != []
