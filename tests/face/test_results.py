"""Every answer gives its tables as DataFrames and its figures, named and filled as in a results folder."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from matplotlib.image import imread

from support.short_tower import TOO_SHORT, write_short_tower
from towerpace import compare, forecast, load, sweep
from towerpace.faults import InputError
from towerpace.render.frames import Framed
from towerpace.render.saved.answer_file import load_saved


def pictures(folder):
    return {path.stem for path in folder.glob("*.png")}


@pytest.fixture(scope="module", params=["forecasted", "compared", "explained", "advised"])
def kept(request, tmp_path_factory):
    """An answer, and its results folder as it is read back."""
    found = request.getfixturevalue(request.param)
    folder = found.save(tmp_path_factory.mktemp(request.param) / "run")
    return found, folder, load_saved(folder)


def test_a_frame_holds_what_the_file_of_its_name_holds(kept):
    found, folder, saved = kept
    for name in found.tables:
        pd.testing.assert_frame_equal(found.frame(name), Framed(saved.answer)[name])
    assert {path.stem for path in folder.glob("*.csv")} <= set(found.tables)


def test_there_is_a_figure_for_every_picture_of_the_folder_and_it_is_that_picture(kept, tmp_path):
    found, folder, _ = kept
    assert set(found.figures) == pictures(folder)
    for name in found.figures:
        found.plot(name).savefig(tmp_path / "again.png", dpi=150)
        np.testing.assert_array_equal(imread(tmp_path / "again.png"), imread(folder / f"{name}.png"))


def test_the_manifest_says_that_python_made_it(kept):
    _, _, saved = kept
    assert saved.manifest.command.startswith("towerpace.")


def test_a_study_gives_its_tables_effects_and_figures(swept, tmp_path):
    study = pd.read_csv(swept.folder / "study.csv")
    assert swept.frame()["value"].to_numpy() == pytest.approx(study["value"].to_numpy())
    assert len(swept.frame("trials")) == 4 * 6
    first = study[study["response"] == "finish.p80"].groupby("gangs")["value"].mean()
    assert swept.effects("gangs")["value"].tolist() == pytest.approx(first.tolist())
    assert swept.effects("gangs", "slip", response="ledger.brackets.work")["points"].tolist() == [1] * 4
    for name in ("effects", "pairs"):
        swept.plot(name, response="ledger.brackets.work").savefig(tmp_path / f"{name}.png")
    assert pictures(tmp_path) == {"effects", "pairs"}


def test_a_study_of_too_few_points_says_why_there_is_no_surface(swept):
    assert swept.figures == ("effects", "pairs", "surface")
    for ask in (swept.metamodel, lambda: swept.plot("surface")):
        with pytest.raises(InputError, match=r"metamodel of finish.p80: found .*; allowed: a response that"):
            ask()


def test_a_study_with_points_enough_has_a_metamodel_and_its_surface(tmp_path):
    study = load_study_file("one_trade_gangs.toml", tmp_path)
    found = study.metamodel("finish.p80")
    assert found.fits
    place = found.predict({"gangs": 2, "slip_high": 5.0})
    assert place.low < place.mean < place.high
    assert "rises" in study.plot("surface", response="finish.p80").get_suptitle()


def load_study_file(name, folder):
    return sweep(Path(__file__).parents[2] / "scenarios" / "studies" / name, folder=folder / "out")


def test_the_run_stands_beside_a_frame_and_a_frame_is_a_copy(forecasted):
    frame = forecasted.frame("finish")
    assert frame.attrs["scenario_hash"] == forecasted.answer.run.hash
    assert frame.attrs["seed"] == 3
    frame["finish_min"] = 0
    assert (forecasted.frame("finish")["finish_min"] > 0).all()


def test_what_stands_for_the_answer_needs_no_name(answers):
    for found in answers:
        main = found.tables[0] if found.tables[0] != "finish" else "percentiles"
        pd.testing.assert_frame_equal(found.frame(), found.frame(main))
        assert len(found.plot().get_suptitle()) > 10


def test_the_frame_of_an_advice_holds_its_numbers(advised):
    ranking, path, detail = advised.frame("ranking"), advised.frame("path"), advised.detail
    assert ranking["diff_days"].tolist() == [ranked.days.mean for ranked in detail.ranking]
    assert ranking["diff_cost_high"].tolist()[0] == detail.ranking[0].money.high
    assert advised.answer.fact("unit") == "crowns"
    assert path["step"].tolist() == list(range(1, len(detail.path) + 1))
    assert path["verdict"].tolist() == [stride.ranked.verdict for stride in detail.path]
    assert path["p80"].is_monotonic_decreasing


def test_the_forecast_of_a_set_up_has_frames_of_its_own(compared):
    own = compared.forecast("both").frame("finish")
    paired = compared.frame("paired").query("setup == 'both'")
    assert own["finish_min"].tolist() == paired["finish_min"].tolist()
    with pytest.raises(InputError, match=r"forecast: found bth; .*; nearest: both"):
        compared.forecast("bth")


@pytest.mark.parametrize("ask", ["frame", "plot"])
def test_an_unknown_name_is_refused_with_the_names_there_are(answers, ask):
    for found in answers:
        with pytest.raises(InputError, match=f"{ask}: found nothing_such; allowed: "):
            getattr(found, ask)("nothing_such")


def test_names_of_a_study_are_checked(swept):
    with pytest.raises(InputError, match="factor: found gang; allowed: gangs, slip; nearest: gangs"):
        swept.effects("gang")
    with pytest.raises(InputError, match=r"response: found finish\.p90; .* nearest: finish\.p80"):
        swept.plot(response="finish.p90")


def test_an_answer_says_itself_in_a_line_and_shows_a_table(answers):
    for found in answers:
        assert repr(found).startswith(f"<{type(found).__name__}: ")
        assert len(repr(found)) < 300
        shown = found._repr_html_()
        assert shown.count("<table") == 1
        assert len(shown) < 10_000


def test_names_of_the_user_are_no_markup_in_a_notebook(path):
    tower = load(path, {"tower.name": "<b>Bold</b>"})
    assert "<b>" not in forecast(tower, trials=2)._repr_html_()


def test_trials_beyond_the_horizon_are_blank_and_said(tmp_path):
    late = load(write_short_tower(tmp_path, replace=TOO_SHORT))
    found = forecast(late, trials=3)
    assert "Fewer than half of the trials finish by" in repr(found)
    assert found.frame("percentiles")["finish"].isna().all()
    assert not [blank for blank in ("NaN", "NaT", "NA&gt;") if blank in found._repr_html_()]
    assert "beyond the horizon: no mean" in repr(compare(late, ["both"], trials=3))


def test_a_figure_is_the_same_whatever_the_settings_of_the_user(forecasted, tmp_path):
    """Marks of an axis are made when it is drawn, long after the figure was."""
    forecasted.plot("finish").savefig(tmp_path / "plain.png")
    with mpl.rc_context({"font.size": 30, "xtick.labelsize": 25, "axes.grid": True, "text.color": "red"}):
        forecasted.plot("finish").savefig(tmp_path / "changed.png")
    np.testing.assert_array_equal(imread(tmp_path / "plain.png"), imread(tmp_path / "changed.png"))


def test_a_notebook_shows_a_figure_without_a_screen(forecasted):
    assert forecasted.plot("time")._repr_png_().startswith(b"\x89PNG")


def test_importing_is_quick_and_plotting_asks_for_no_screen(path):
    """Heavy packages come when they are needed; pyplot, which looks for a window system, never."""
    code = (
        "import sys, towerpace, towerpace.cli.app\n"
        "heavy = {'pandas', 'scipy', 'matplotlib', 'networkx', 'pydantic'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
        f"found = towerpace.forecast(towerpace.load({str(path)!r}), trials=2)\n"
        "found.plot().savefig(sys.stdout.buffer)\n"
        "assert 'matplotlib.pyplot' not in sys.modules\n"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)
    assert run.returncode == 0, run.stderr.decode()
    assert run.stdout.startswith(b"\x89PNG")
