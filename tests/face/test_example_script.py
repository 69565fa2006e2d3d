"""The example script draws the figure at the head of README: the same trials, the same pixels."""

from __future__ import annotations

import json
from importlib.metadata import version
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from matplotlib.image import imread

from towerpace import forecast, load
from towerpace.render.figures.drawing import draw
from towerpace.render.frames import Framed
from towerpace.render.saved.answer_file import load_saved

ROOT = Path(__file__).parents[2]
SCRIPT = ROOT / "scenarios" / "from_python.py"
EXAMPLE = ROOT / "results" / "example"
TRIALS = 10


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    """What the script leaves behind with few trials, and the folder that it ran in."""
    folder = tmp_path_factory.mktemp("run")
    (folder / "scenarios").symlink_to(ROOT / "scenarios", target_is_directory=True)
    text = SCRIPT.read_text(encoding="utf-8")
    assert "\nTRIALS = 1000\nSEED = 1\n" in text
    left: dict[str, object] = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        exec(compile(text.replace("TRIALS = 1000", f"TRIALS = {TRIALS}"), str(SCRIPT), "exec"), left)
    return left, folder


def test_the_readme_shows_the_published_figure_and_the_script_names_it():
    assert "](results/example/finish.png)" in (ROOT / "README.md").read_text(encoding="utf-8")
    assert "`results/example/finish.png`" in SCRIPT.read_text(encoding="utf-8")


def test_its_trials_are_the_first_of_the_published_ones(played):
    """Trial k of a seed does not depend on how many are played."""
    published = pd.read_csv(EXAMPLE / "finish.csv")
    own = played[0]["found"].frame("finish")
    assert published["seed"].iloc[0] == 1
    first = published["finish_min"].tolist()[:TRIALS]
    assert own["finish_min"].tolist() == first, "results/example is older than the model: write it anew"


def test_its_figure_is_the_one_that_the_command_writes(played, tmp_path):
    _, folder = played
    made = forecast(load(ROOT / "scenarios" / "gannet_wharf" / "scenario.toml"), trials=TRIALS, seed=1)
    written = made.save(tmp_path / "run", command="towerpace forecast") / "finish.png"
    np.testing.assert_array_equal(imread(folder / "results/from_python/finish.png"), imread(written))


def test_the_published_figure_is_drawn_from_its_tables_to_the_pixel(tmp_path):
    """With its trials, as above, and its figure, as here, a thousand trials give the published figure."""
    made_with = json.loads((EXAMPLE / "manifest.json").read_text(encoding="utf-8"))["packages"]["matplotlib"]
    if version("matplotlib") != made_with:
        # Another version places words and lines a fraction of a pixel elsewhere.
        pytest.skip(f"drawn by matplotlib {made_with}, here is {mpl.__version__}")
    draw("finish", Framed(load_saved(EXAMPLE).answer)).savefig(tmp_path / "finish.png", dpi=150)
    np.testing.assert_array_equal(imread(tmp_path / "finish.png"), imread(EXAMPLE / "finish.png"))


def test_it_compares_set_ups_too(played):
    left, folder = played
    assert left["gains"]["setup"].tolist() == ["third_hoist", "third_gang_and_crane"]
    assert (folder / "results/from_python/paired_differences.png").is_file()
