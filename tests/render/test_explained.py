"""Why the finish is late, in a folder: numbers that add up, texts of one trial, figures from its tables."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from matplotlib.text import Text

from support.short_tower import TOO_SHORT, write_short_tower
from towerpace import __version__
from towerpace.answers.prepare import prepare
from towerpace.answers.why.explain import ChainReader, explain
from towerpace.answers.why.telling import story_of
from towerpace.render.explained import EXPLAINED_TABLES, TRIAL_TABLES, save_explained
from towerpace.render.explained_object import as_data, trial_data
from towerpace.render.figures import explained as figures_explained
from towerpace.render.figures.explained import (
    DATES,
    EXPLAINED_FIGURES,
    NIGHTS,
    explained_figures_of,
    group_of_chain,
    held_days,
)
from towerpace.render.figures.explained_waiting import waits
from towerpace.render.figures.style import look
from towerpace.render.saved.forecast import load_saved
from towerpace.scenario import load

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TRIALS, SEED, TRIAL = 8, 5, 3


def told(path, *, trial=TRIAL):
    why = explain(load(path), trials=TRIALS, seed=SEED)
    story = story_of(why.ready, seed=SEED, trial=trial)
    return as_data(why) | trial_data(story), why, story


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return told(write_short_tower(tmp_path_factory.mktemp("tower"), levels=3))


@pytest.fixture(scope="module")
def folder(made, tmp_path_factory):
    data, why, story = made
    return save_explained(data, why, tmp_path_factory.mktemp("results") / "run", story=story)


@pytest.fixture(scope="module")
def saved(folder):
    return load_saved(folder, of=EXPLAINED_TABLES | TRIAL_TABLES)


def drawn(name, saved):
    with look():
        return EXPLAINED_FIGURES[name](saved)


def texts(figure):
    return " | ".join(t.get_text().replace("\n", " ") for t in figure.findobj(Text) if t.get_text())


def test_days_held_add_up_to_the_mean_finish(made, saved):
    data, why, _ = made
    mean = float(why.finish.mean()) / 1440
    assert saved.tables["held"]["mean_days"].sum() == pytest.approx(mean, abs=0.005)
    assert held_days(saved).to_numpy().sum() == pytest.approx(mean, abs=0.005)
    # Every step of this tower stands on a level.
    assert saved.tables["levels"]["mean_days"].sum() == pytest.approx(mean, abs=0.005)
    assert data["mean_finish_days"] == pytest.approx(mean, abs=1e-4)


def test_links_follow_each_other_and_their_causes_fill_them(saved):
    chain, causes = saved.tables["chain"], saved.tables["chain_causes"]
    assert (chain["since_min"].iloc[1:].to_numpy() == chain["finished_min"].iloc[:-1].to_numpy()).all()
    assert causes["minutes"].sum() == chain["finished_min"].iloc[-1]


def test_the_texts_hold_the_whole_diary_and_the_whole_chain(made, folder):
    data, _, story = made
    stamp = f"trial {TRIAL}, scenario {data['hash'][:12]}, seed {SEED}, towerpace {__version__}"
    diary = (folder / "site_diary.txt").read_text(encoding="utf-8").splitlines()
    chain = (folder / "chain.txt").read_text(encoding="utf-8").splitlines()
    assert diary[0] == f"Site diary: One hoist, {stamp}"
    assert chain[0] == f"Critical chain: One hoist, {stamp}"
    assert diary[2:] == [day.text(story.start) for day in story.diary]
    assert len(chain) == 2 + len(story.told.stretches)


def test_every_file_is_listed_and_carries_hash_seed_and_version(made, folder):
    data = made[0]
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    assert sorted([*manifest["files"], "manifest.json"]) == sorted(p.name for p in folder.iterdir())
    assert json.loads((folder / "explain.json").read_text(encoding="utf-8")) == data
    for path in folder.glob("*.csv"):
        rows = path.read_text(encoding="utf-8").splitlines()
        assert all(row.endswith(f",{data['hash'][:12]},{SEED},{__version__}") for row in rows[1:])
    for path in folder.glob("*.svg"):
        assert f"scenario {data['hash'][:12]} · seed {SEED}" in path.read_text(encoding="utf-8")


def test_a_failed_figure_leaves_nothing(made, tmp_path, monkeypatch):
    data, why, story = made
    monkeypatch.setattr(figures_explained, "write_explained_figures", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        save_explained(data, why, tmp_path / "run", story=story)
    assert list(tmp_path.iterdir()) == []


def test_without_a_trial_there_is_no_chain_and_no_diary(made, tmp_path):
    _, why, _ = made
    folder = save_explained(as_data(why), why, tmp_path / "run")
    names = {path.name for path in folder.iterdir()}
    assert {"held.csv", "held_the_finish.png", "who_waits_for_what.svg"} <= names
    assert not names & {"chain.csv", "site_diary.txt", "chain_of_trial.png"}


def test_trials_that_do_not_finish_are_told_and_never_dropped(tmp_path):
    data, why, story = told(write_short_tower(tmp_path, replace=TOO_SHORT))
    assert (data["finished"], data["beyond_horizon"]) == (0, TRIALS)
    assert [one["trial"] for one in data["unfinished"]] == list(range(TRIALS))
    assert all(one["steps_left"] > 0 and one["waits_for"] for one in data["unfinished"])
    assert data["trial_finish"] is None
    assert data["trial_waits_for"] == data["unfinished"][TRIAL]["waits_for"]

    folder = save_explained(data, why, tmp_path / "run", story=story)
    saved = load_saved(folder, of=EXPLAINED_TABLES | TRIAL_TABLES)
    assert explained_figures_of(saved) == ["who_waits_for_what"]
    assert saved.tables["unfinished"]["trial"].nunique() == TRIALS
    assert "does not finish" in (folder / "chain.txt").read_text(encoding="utf-8")
    assert "8 of 8 trials do not finish" in saved.manifest.cautions[0]


def test_every_cause_of_a_chain_has_a_group_and_the_night_has_its_own():
    causes = ChainReader(prepare(load(SCENARIOS / "gannet_wharf" / "scenario.toml")).tower).causes
    groups = {cause: group_of_chain(cause) for cause in causes}
    assert groups["outside shift"] is NIGHTS
    assert groups["not before its date"] is DATES
    assert groups["wind"].name == "wind"


def test_the_bars_name_every_trade_and_every_group_that_held(saved):
    shown, table = texts(drawn("held_the_finish", saved)), held_days(saved)
    for trade in table.index:
        assert trade in shown
    for group in table.columns[table.sum(axis=0) > 0]:
        assert group in shown
    assert f"{table.sum(axis=1).max():,.1f} d" in shown


def test_cells_of_the_waiting_matrix_hold_their_numbers(saved):
    figure, table = drawn("who_waits_for_what", saved), waits(saved, "shift")
    most = float(table.values.max())
    assert f"{most:,.0f}" in [t.get_text() for t in figure.axes[0].texts]
    rows = saved.tables["waiting"]
    own = rows[(rows["clock"] == "shift") & (rows["for"] == table.what[0])]
    assert table.values[:, 0].sum() == pytest.approx(own["mean_h"].sum())


def test_the_chain_is_drawn_from_its_begin_to_the_finish(made, saved):
    figure, story = drawn("chain_of_trial", saved), made[2]
    finish = story.played.ready.days.date_of(story.played.diary.finish)
    assert f"Trial {TRIAL} finishes on {finish.day} {finish:%b %Y}" in texts(figure)
    assert "hoisting: " in texts(figure)


def cut_off(figure):
    figure.canvas.draw()
    box = figure.bbox
    words = [t for axes in figure.axes for t in axes.texts] + [figure._suptitle, figure._supxlabel]
    extents = [(t, t.get_window_extent()) for t in words]
    return [
        t.get_text() for t, e in extents if e.x0 < -2 or e.x1 > box.x1 + 2 or e.y0 < -2 or e.y1 > box.y1 + 2
    ]


def test_no_words_are_cut_off(saved):
    assert {name: found for name in EXPLAINED_FIGURES if (found := cut_off(drawn(name, saved)))} == {}
