"""A comparison in a folder and in figures: paired, drawn from its tables, nothing overprinted."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from itertools import combinations

import numpy as np
import pandas as pd
import pytest
from matplotlib.text import Text

from support.short_tower import COSTS, TOO_SHORT, write_short_tower
from towerpace import __version__, compare, load
from towerpace.answers.said.people import day
from towerpace.render.figures.drawing import draw
from towerpace.render.frames import Framed
from towerpace.render.saved.answer_file import load_saved

TRIALS, SEED, MANY = 12, 3, 20
NAMES = ("finish_curves", "paired_differences", "cost_against_p80")


def played(path, setups):
    return compare(load(path), setups, trials=TRIALS, seed=SEED)


@pytest.fixture(scope="module")
def paid(tmp_path_factory):
    path = write_short_tower(tmp_path_factory.mktemp("paid"), replace=COSTS)
    return played(path, ["second_hoist", "third_crane", "both"])


@pytest.fixture(scope="module")
def folder(paid, tmp_path_factory):
    return paid.save(tmp_path_factory.mktemp("results") / "run", command="towerpace compare x")


@pytest.fixture(scope="module")
def crowd(paid):
    """The comparison with twenty set-ups more: later by a day each, and dearer by little."""
    return with_more(paid.answer, count=MANY)


def with_more(answer, *, count):
    """Copies of the last set-up, later and dearer the further they come."""
    tables = []
    for table in answer.tables:
        place = next((k for k, column in enumerate(table.columns) if column.name == "setup"), None)
        last = [row for row in table.rows if row[place] == "both"]
        copies = [moved(row, table, k) for k in range(count) for row in last]
        tables.append(replace(table, rows=(*table.rows, *copies)))
    return replace(answer, tables=tables)


def moved(row, table, k):
    values = dict(zip([column.name for column in table.columns], row, strict=True))
    values["setup"] = f"both and {k} more units of something"
    for name in ("p80", "finish"):
        if values.get(name) is not None:
            values[name] += timedelta(days=30 + k % 7)
    if values.get("cost") is not None:
        values["cost"] += 100.0 * (k // 7)
    return tuple(values.values())


def drawn(name, answer):
    return draw(name, Framed(answer))


def texts(figure):
    return " | ".join(t.get_text().replace("\n", " ") for t in figure.findobj(Text) if t.get_text())


def test_single_differences_are_those_of_the_trials_and_their_mean_is_the_one_stated(paid):
    paired, stated = paid.frame("paired"), paid.frame("differences").set_index("setup")
    costs = paid.frame("costs").set_index("setup")
    by_setup = {name: rows.set_index("trial") for name, rows in paired.groupby("setup")}
    base = by_setup["base"]
    for name in ("second_hoist", "third_crane", "both"):
        own = by_setup[name]
        assert list(own.index) == list(range(TRIALS))
        minutes = own["finish_min"].astype(float) - base["finish_min"].astype(float)
        np.testing.assert_allclose(own["diff_days"], minutes / 1440, atol=1e-12)
        np.testing.assert_allclose(own["diff_cost"], own["cost"] - base["cost"], atol=1e-6)
        assert own["diff_days"].mean() == pytest.approx(stated.loc[name, "diff_days"])
        assert own["diff_cost"].mean() == pytest.approx(costs.loc[name, "diff_cost"])
        assert (own["finish_min"] < base["finish_min"]).mean() == stated.loc[name, "beats_base"]
    assert (base["diff_days"] == 0).all()


def test_causes_are_the_ledger_summed_over_its_trades(paid):
    """The hours of every trade and cause, taken from the forecasts of the set-ups, add up to the causes."""
    before, after = (paid.forecast(name).frame("ledger") for name in ("base", "both"))
    change = after["mean_h"].sum() - before["mean_h"].sum()
    outside = [frame.loc[frame["cause"] == "outside shift", "mean_h"].sum() for frame in (before, after)]
    causes = paid.frame("causes").query("setup == 'both'")
    kept = causes["diff_h"].sum()
    # Changes of less than an hour are left out; there are fewer than twenty causes.
    assert kept == pytest.approx(change - (outside[1] - outside[0]), abs=20)
    assert abs(kept) > 100
    crane = causes[causes["cause"] == "crane moves"]["base_h"]
    moves = before[before["cause"] == "crane move"]["mean_h"].sum()
    assert crane.empty or crane.item() == pytest.approx(moves)


def test_an_answer_comes_back_from_its_folder_as_it_was(paid, folder):
    saved = load_saved(folder)
    assert saved.answer.said == paid.answer.said
    assert saved.manifest.command == "towerpace compare x"
    for name in paid.tables:
        pd.testing.assert_frame_equal(Framed(saved.answer)[name], paid.frame(name))


def test_every_file_carries_hash_seed_and_version(paid, folder):
    mark = paid.answer.run.hash[:12]
    for path in folder.glob("*.csv"):
        rows = path.read_text(encoding="utf-8").splitlines()
        assert len(rows) > 1
        assert all(row.endswith(f",{mark},{SEED},{__version__}") for row in rows[1:])
    for path in folder.glob("*.svg"):
        assert f"scenario {mark} · seed {SEED} · {TRIALS} trials" in path.read_text(encoding="utf-8")
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    assert sorted([*manifest["files"], "manifest.json"]) == sorted(p.name for p in folder.iterdir())


def test_the_answer_names_the_earliest_with_its_gain_and_dates(paid):
    both = paid.frame("differences").set_index("setup").loc["both"]
    p80 = paid.frame("setups").set_index("setup")["p80"]
    said = paid.answer.said
    assert f"'both' finishes {-both['diff_days']:.1f} days earlier than the base" in said
    assert f"for 80 % confidence allow to {day(p80['both'].date())}, with the base to" in said
    assert day(p80["base"].date()) in said


def test_every_set_up_is_named_with_its_p80_on_the_curves(paid):
    shown = texts(drawn("finish_curves", paid.answer))
    for row in paid.frame("setups").itertuples():
        assert f"{row.setup.replace('_', ' ')}: P80 {row.p80.day} {row.p80:%b %Y}" in shown


def test_of_many_set_ups_the_base_and_the_five_earliest_are_shown(paid):
    shown = texts(drawn("finish_curves", with_more(paid.answer, count=4)))
    assert "base: P80" in shown
    assert "both and 1 more units" in shown
    assert "both and 2 more units" not in shown
    assert "base and the 5 earliest at P80; 2 more in setups.csv" in shown


def test_differences_stand_with_their_intervals_in_days_and_money(paid):
    shown = texts(drawn("paired_differences", paid.answer))
    both = paid.frame("differences").set_index("setup").loc["both"]
    interval = f"({both['diff_days_low']:+.1f} to {both['diff_days_high']:+.1f})"
    assert f"{both['diff_days']:+.1f} {interval}" in shown
    more = paid.frame("costs").set_index("setup").loc["both", "diff_cost"]
    assert f"{more:+,.0f} (" in shown
    assert "'both' finishes" in shown
    assert "cost, set-up less base [crowns]" in shown


def test_the_cost_figure_names_what_nothing_beats(paid):
    figure = drawn("cost_against_p80", paid.answer)
    costs = paid.frame("costs")
    cheapest = costs.loc[costs["cost"].idxmin(), "setup"].replace("_", " ")
    assert f"'{cheapest}' is" in texts(figure)
    assert "mean cost of a trial [crowns]" in texts(figure)


def test_without_costs_there_is_no_figure_of_money(tmp_path):
    bare = played(write_short_tower(tmp_path), "both")
    assert bare.figures == ("paired_differences", "finish_curves")
    assert bare.frame("costs").empty
    assert bare.answer.fact("unit") is None
    assert "cost" not in texts(drawn("paired_differences", bare.answer))


def test_trials_beyond_the_horizon_are_blank_and_said(tmp_path):
    path = write_short_tower(tmp_path, replace=TOO_SHORT)
    late = played(path, {"one": {"resource.bay.count": 2}})
    assert late.forecast("base").detail.beyond == TRIALS
    assert late.frame("paired")["finish_min"].isna().all()
    assert late.frame("paired")["diff_days"].isna().all()
    assert "beyond the horizon: no mean difference is known" in late.answer.said
    assert late.answer.cautions[0].startswith(f"base: {TRIALS} of {TRIALS} trials do not finish")
    assert "some trials end beyond the horizon: no mean" in texts(drawn("paired_differences", late.answer))
    assert "no trial of base, one finishes" in texts(drawn("finish_curves", late.answer))


def cut_off(figure):
    figure.canvas.draw()
    box = figure.bbox
    words = [t for axes in figure.axes for t in axes.texts] + [figure._suptitle, figure._supxlabel]
    extents = [(t, Text.get_window_extent(t)) for t in words]
    return [
        t.get_text() for t, e in extents if e.x0 < -2 or e.x1 > box.x1 + 2 or e.y0 < -2 or e.y1 > box.y1 + 2
    ]


@pytest.mark.parametrize("name", NAMES)
def test_no_words_are_cut_off(name, paid, crowd):
    assert cut_off(drawn(name, paid.answer)) == []
    assert cut_off(drawn(name, crowd)) == []


@pytest.mark.parametrize("name", NAMES)
def test_no_words_are_printed_over_others_with_twenty_set_ups(name, crowd):
    figure = drawn(name, crowd)
    figure.canvas.draw()
    for axes in figure.axes:
        legend = axes.get_legend()
        inside = [*axes.texts, *(legend.get_texts() if legend else ())]
        extents = [(t.get_text(), Text.get_window_extent(t)) for t in inside]
        assert len(extents) > 6 or name == "finish_curves"
        over = [(a[0], b[0]) for a, b in combinations(extents, 2) if overlap(a[1], b[1])]
        assert over == []


def overlap(a, b):
    """Whether two boxes share more than the pixel of rounding."""
    across = min(a.x1, b.x1) - max(a.x0, b.x0)
    up = min(a.y1, b.y1) - max(a.y0, b.y0)
    return across > 1 and up > 1


def test_no_line_but_the_curves_leads_to_a_name_in_the_finish_curves(crowd):
    """Leaders in the colour and dashes of a curve were read as part of it."""
    axes = drawn("finish_curves", crowd).axes[0]
    curves = [line for line in axes.lines if line.get_linestyle() != "None" and len(line.get_xdata()) > 2]
    others = [line for line in axes.lines if line not in curves and len(line.get_xdata()) == 2]
    assert len(curves) == 6
    assert {line.get_gid() or tuple(line.get_ydata()) for line in others} == {(80, 80)}
