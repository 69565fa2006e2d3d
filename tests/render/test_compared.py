"""A comparison in a folder: whole or not at all, paired trial by trial, its figures drawn from its tables."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from matplotlib.text import Text

from support.short_tower import COSTS, TOO_SHORT, write_short_tower
from towerpace import __version__
from towerpace.answers.choice.compare import compare
from towerpace.faults import InputError
from towerpace.render.compared import COMPARED_TABLES, compared_tables, save_compared
from towerpace.render.compared_object import as_data
from towerpace.render.figures import compared as figures_compared
from towerpace.render.figures.compared import COMPARED_FIGURES, compared_figures_of
from towerpace.render.figures.style import look
from towerpace.render.saved.forecast import Saved, load_saved
from towerpace.render.saved.manifest import Run, manifest_of_run
from towerpace.scenario import load
from towerpace.scenario.setups import base_of, changed, named_setup

TRIALS, SEED = 12, 3


def played(path, *names, **changes):
    base = load(path)
    setups = [base_of(base), *(named_setup(base, name) for name in names)]
    setups += [changed(base, name, {key: value}) for name, (key, value) in changes.items()]
    found = compare(setups, trials=TRIALS, seed=SEED)
    return as_data(found, seed=SEED), found


@pytest.fixture(scope="module")
def paid(tmp_path_factory):
    path = write_short_tower(tmp_path_factory.mktemp("paid"), replace=COSTS)
    return played(path, "second_hoist", "third_crane", "both")


@pytest.fixture(scope="module")
def folder(paid, tmp_path_factory):
    return save_compared(*paid, tmp_path_factory.mktemp("results") / "run", command="towerpace compare x")


@pytest.fixture(scope="module")
def saved(folder):
    return load_saved(folder, of=COMPARED_TABLES)


def kept(data, found):
    base = found[0].forecast
    run = Run(base.scenario, base.tower, base.seed, base.asked, base.trials)
    return Saved(compared_tables(data, found), manifest_of_run(run, command="x", cautions=[]))


def drawn(name, saved):
    with look():
        return COMPARED_FIGURES[name](saved)


def texts(figure):
    return " | ".join(t.get_text().replace("\n", " ") for t in figure.findobj(Text) if t.get_text())


def test_single_differences_are_those_of_the_trials_and_their_mean_is_the_one_stated(saved):
    paired, setups = saved.tables["paired"], saved.tables["setups"].set_index("setup")
    by_setup = {name: rows.set_index("trial") for name, rows in paired.groupby("setup")}
    base = by_setup["base"]
    for name in ("second_hoist", "third_crane", "both"):
        own = by_setup[name]
        assert list(own.index) == list(range(TRIALS))
        minutes = own["finish_min"].astype(float) - base["finish_min"].astype(float)
        np.testing.assert_allclose(own["diff_days"], minutes / 1440, atol=1e-12)
        np.testing.assert_allclose(own["diff_cost"], own["cost"] - base["cost"], atol=1e-6)
        # The object keeps four decimals.
        assert own["diff_days"].mean() == pytest.approx(setups.loc[name, "diff_days"], abs=1e-4)
        assert own["diff_cost"].mean() == pytest.approx(setups.loc[name, "diff_cost"], abs=1e-4)
    assert (base["diff_days"] == 0).all()


def test_the_object_in_the_folder_is_the_one_that_is_printed(paid, folder):
    assert json.loads((folder / "compare.json").read_text(encoding="utf-8")) == paid[0]


def test_tables_come_back_as_they_were(paid, saved):
    for name, table in compared_tables(*paid).items():
        pd.testing.assert_frame_equal(saved.tables[name], table)


def test_every_file_carries_hash_seed_and_version(paid, folder):
    hash_ = paid[0]["hash"]
    for path in folder.glob("*.csv"):
        rows = path.read_text(encoding="utf-8").splitlines()
        assert len(rows) > 1
        assert all(row.endswith(f",{hash_[:12]},{SEED},{__version__}") for row in rows[1:])
    for path in folder.glob("*.svg"):
        assert f"scenario {hash_[:12]} · seed {SEED} · {TRIALS} trials" in path.read_text(encoding="utf-8")
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    assert (manifest["hash"], manifest["seed"], manifest["version"]) == (hash_, SEED, __version__)
    assert manifest["command"] == "towerpace compare x"
    assert sorted([*manifest["files"], "manifest.json"]) == sorted(p.name for p in folder.iterdir())


def test_a_failed_figure_leaves_nothing(paid, tmp_path, monkeypatch):
    monkeypatch.setattr(figures_compared, "write_compared_figures", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        save_compared(*paid, tmp_path / "run")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_with_files_of_others_is_refused(paid, tmp_path):
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match=r"also holds notes\.txt"):
        save_compared(*paid, tmp_path)


def test_every_set_up_is_named_with_its_p80_on_the_curves(paid, saved):
    shown = texts(drawn("finish_curves", saved))
    for one in paid[0]["setups"]:
        day = pd.Timestamp(one["p80"])
        assert f"{one['name'].replace('_', ' ')}: P80 {day.day} {day:%b %Y}" in shown


def test_of_many_set_ups_the_base_and_the_five_earliest_are_shown(saved):
    tables = dict(saved.tables)
    for name in ("setups", "paired"):
        more = [tables[name]]
        for k in range(4):
            late = tables[name][tables[name]["setup"] == "both"].copy()
            late["setup"] = f"later {k}"
            for column in ("p80_date", "finish_date"):
                if column in late:
                    late[column] += pd.Timedelta(days=30 + k)
            more.append(late)
        tables[name] = pd.concat(more, ignore_index=True)
    shown = texts(drawn("finish_curves", replace(saved, tables=tables)))
    assert "base: P80" in shown
    assert "later 1: P80" in shown
    assert "later 2" not in shown
    assert "base and the 5 earliest at P80; 2 more in setups.csv" in shown


def test_differences_stand_with_their_intervals_in_days_and_money(saved):
    shown = texts(drawn("paired_differences", saved))
    both = saved.tables["setups"].set_index("setup").loc["both"]
    assert f"{both['diff_days']:+.1f} ({both['diff_low']:+.1f} to {both['diff_high']:+.1f})" in shown
    assert f"{both['diff_cost']:+,.0f} (" in shown
    assert "'both' finishes" in shown
    assert "cost, set-up less base [crowns]" in shown


def test_the_cost_figure_names_what_nothing_beats(saved):
    figure = drawn("cost_against_p80", saved)
    setups = saved.tables["setups"]
    cheapest = setups.loc[setups["mean_cost"].idxmin(), "setup"].replace("_", " ")
    assert f"'{cheapest}' is" in texts(figure)
    assert "mean cost of a trial [crowns]" in texts(figure)


def test_without_costs_there_is_no_figure_of_money(tmp_path):
    made = kept(*played(write_short_tower(tmp_path), "both"))
    assert compared_figures_of(made) == ["finish_curves", "paired_differences"]
    assert "cost" not in texts(drawn("paired_differences", made))


def test_trials_beyond_the_horizon_are_blank_and_said(tmp_path):
    data, found = played(write_short_tower(tmp_path, replace=TOO_SHORT), one=("resource.bay.count", 2))
    assert found[0].forecast.beyond == TRIALS
    late = kept(data, found)
    assert late.tables["paired"]["finish_min"].isna().all()
    assert late.tables["paired"]["diff_days"].isna().all()
    assert "some trials end beyond the horizon: no mean" in texts(drawn("paired_differences", late))
    assert "no trial of base, one finishes" in texts(drawn("finish_curves", late))


def cut_off(figure):
    figure.canvas.draw()
    box = figure.bbox
    words = [t for axes in figure.axes for t in axes.texts] + [figure._suptitle, figure._supxlabel]
    extents = [(t, t.get_window_extent()) for t in words]
    return [
        t.get_text() for t, e in extents if e.x0 < -2 or e.x1 > box.x1 + 2 or e.y0 < -2 or e.y1 > box.y1 + 2
    ]


def test_no_words_are_cut_off(saved):
    assert {name: found for name in COMPARED_FIGURES if (found := cut_off(drawn(name, saved)))} == {}
