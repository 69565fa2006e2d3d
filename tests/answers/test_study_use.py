"""Responses on use, holes and activities, and a study's frame with its effects and labelled arrays."""

from datetime import date

import numpy as np
import pytest

from support import wharf_in_small as small
from towerpace import forecast, load, load_study, sweep, use
from towerpace.faults import InputError

STUDY = """\
[study]
name = "Use"
scenario = "scenario.toml"
design = "grid"
trials = 5
seed = 3
responses = ["utilisation.panel_gang", "idle.panel_gang", "idle.hoist", "open_holes.mean", "open_holes.p50",
             "activity.crane_out.p50", "activity.goods_lift.mean", "finish.p50"]

[factor.harder_up]
key = "level.\\"3 to 4\\".zone.east.difficulty"
values = [1.0, 2.5]
[factor.second_crane]
labels = ["there", "late"]
replace = [{ "resource.floor_crane.unit" = [] },
           { "resource.floor_crane.unit" = [{ arrives = 2027-04-19 }] }]
"""


@pytest.fixture(scope="module")
def studied(tmp_path_factory):
    folder = tmp_path_factory.mktemp("study")
    small.write(folder)
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    return folder, sweep(folder / "study.toml", folder=folder / "out")


def value(frame, response, **factors):
    rows = frame[frame["response"] == response]
    for name, wanted in factors.items():
        rows = rows[rows[name] == wanted]
    return rows["value"].item()


def test_shares_and_dates_are_those_of_the_questions_on_the_same_trials(studied):
    folder, swept = studied
    frame, point = swept.frame(), {"harder_up": 2.5, "second_crane": "late"}
    changes = {
        'level."3 to 4".zone.east.difficulty': 2.5,
        "resource.floor_crane.unit": [{"arrives": date(2027, 4, 19)}],
    }
    tower = load(folder / "scenario.toml", changes)
    busy = use(tower, trials=5, seed=3).detail.outcomes.values
    resources = list(tower.settings.resource)

    for name in ("panel_gang", "hoist"):
        k = resources.index(name)
        idle = (busy["idle"][:, k] / busy["whole"][:, k]).mean()
        assert value(frame, f"idle.{name}", **point) == pytest.approx(idle, abs=1e-6)
    both = [value(frame, f"{kind}.panel_gang", **point) for kind in ("utilisation", "idle")]
    assert sum(both) == pytest.approx(1, abs=2e-6)
    own = forecast(tower, trials=5, seed=3).frame("activities").set_index("activity")["p50"]["crane_out"]
    days = value(frame, "activity.crane_out.p50", **point)
    assert int(np.ceil(days)) - 1 == (own.date() - tower.settings.tower.start).days


def test_harder_rows_and_a_late_unit_show(studied):
    _, swept = studied
    frame = swept.frame()
    easy = {"harder_up": 1.0, "second_crane": "there"}

    assert value(frame, "finish.p50", **easy | {"harder_up": 2.5}) > value(frame, "finish.p50", **easy)
    assert value(frame, "finish.p50", **easy | {"second_crane": "late"}) > value(frame, "finish.p50", **easy)
    assert value(frame, "open_holes.mean", **easy) >= 0


def test_a_loaded_study_reckons_as_the_swept_one(studied):
    _, swept = studied
    loaded = load_study(swept.folder)

    for response in ("finish.p50", "idle.hoist"):
        assert loaded.effects("harder_up", response=response).equals(
            swept.effects("harder_up", response=response)
        )
    with pytest.raises(InputError, match="nearest: harder_up"):
        loaded.effects("harder")
    with pytest.raises(InputError, match="quadratic"):
        loaded.metamodel("finish.p50")


def test_labelled_arrays_have_a_dimension_a_factor(studied):
    pytest.importorskip("xarray", reason="the extra `labelled` is not installed")
    _, swept = studied
    cube = load_study(swept.folder).to_xarray()

    assert dict(cube.sizes) == {"response": 8, "harder_up": 2, "second_crane": 2}
    cell = cube["value"].sel(response="finish.p50", harder_up=1.0, second_crane="late").item()
    assert cell == value(swept.frame(), "finish.p50", harder_up=1.0, second_crane="late")
