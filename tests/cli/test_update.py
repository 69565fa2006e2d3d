"""The forecast from what is built: before and now, on a small site; and an update from an update."""

import json
from datetime import date

import numpy as np
import pytest

from support.bare import bare
from support.command_line import towerpace
from support.site_record import recorded, reporting_site
from towerpace import check, forecast, update
from towerpace.faults import InputError

SHEET = """2027-03-05,brackets,1,north,all,
2027-03-05,panels,1,north,4,
2027-03-12,panels,1,north,9,
2027-03-12,brackets,1,east,all,
2027-03-12,brackets,2,north,50%,
2027-03-12,mock_up,,,passed,"""


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    folder = tmp_path_factory.mktemp("site")
    recorded(folder, SHEET)
    return reporting_site(), folder / "progress.csv"


@pytest.fixture(scope="module")
def result(site):
    ready, sheet = site
    return update(ready.scenario, sheet, trials=20)


def test_before_is_the_forecast_and_now_is_later_on_a_site_that_lags(site, result):
    ready, _ = site
    before = forecast(ready.scenario, trials=20).frame("percentiles")
    now = result.frame("percentiles")
    assert now["before"].tolist() == before["finish"].tolist()
    # A week behind on the first front, with three levels to come.
    assert (now["moved_days"] > 3).all()
    trend = result.frame("trend")
    assert trend["p50"].iloc[0] == before["finish"].iloc[1]
    assert trend["p50"].iloc[-1] == now["finish"].iloc[1]
    assert len(trend) == 3


def test_moves_add_up_to_what_the_finish_moved(result):
    moves, finish = result.frame("moves"), result.frame("percentiles").set_index("percentile")
    assert moves["p50_days"].sum() == pytest.approx(finish.loc["P50", "moved_days"])
    assert moves["p80_days"].sum() == pytest.approx(finish.loc["P80", "moved_days"])


def test_what_is_built_is_built_in_every_trial(site):
    ready, sheet = site
    outcomes = update(ready.scenario, sheet, trials=10).detail.now.outcomes.values
    brackets = ready.tower.trades.index("brackets")
    assert (outcomes["begun"][:, brackets, 0] < 12 * 1440).all()
    assert np.ptp(outcomes["begun"][:, brackets, 0]) == 0
    assert (outcomes["finish"] > 12 * 1440).all()


def test_an_earlier_data_date_leaves_later_rows_out(site):
    ready, sheet = site
    result = update(ready.scenario, sheet, at=date(2027, 3, 8), trials=5)
    assert result.answer.fact("data_date") == date(2027, 3, 8)
    done = result.frame("done").set_index("what")
    assert done.loc["panels", "done"] == 4
    assert "brackets" in done.index


def test_an_update_goes_on_from_an_update(site, tmp_path):
    ready, sheet = site
    first = update(ready.scenario, sheet, at=date(2027, 3, 8), trials=5)
    folder = bare(first, tmp_path / "first")
    second = update(ready.scenario, sheet, since=folder, trials=5)
    assert second.frame("percentiles")["before"].tolist() == first.frame("percentiles")["finish"].tolist()
    assert second.frame("moves")["cause"].tolist() == ["progress", "weather", "learned"]


def test_an_update_cannot_go_on_from_another_question(site, tmp_path):
    ready, sheet = site
    folder = check(ready.scenario).save(tmp_path / "check")
    with pytest.raises(InputError, match="results of update or forecast"):
        update(ready.scenario, sheet, since=folder, trials=2)


def test_the_numbers_do_not_depend_on_the_workers(site):
    ready, sheet = site
    one, two = (update(ready.scenario, sheet, trials=6, workers=n).frame("percentiles") for n in (1, 2))
    assert one.equals(two)


@pytest.mark.slow
def test_the_command_prints_saves_and_says_where_the_record_is_from(site, tmp_path):
    ready, sheet = site
    out = tmp_path / "update"
    run = towerpace("update", ready.scenario.path, "--progress", sheet, "--trials", 5, "--out", out)
    assert run.returncode == 0
    assert "Data date Fri 12 Mar 2027" in run.stdout
    manifest = json.loads((out / "manifest.json").read_text(encoding="utf-8"))
    assert len(manifest["record_hash"]) == 64
    assert {"trend.png", "flow.png"} <= set(manifest["files"])


def test_faults_of_the_record_are_told_with_their_lines(site, tmp_path):
    ready, _ = site
    bad = tmp_path / "bad.csv"
    bad.write_text("date,what,level,zone,done\n2027-03-08,panels,1,nord,3\n", encoding="utf-8")
    run = towerpace("update", ready.scenario.path, "--progress", bad, "--trials", 2)
    assert run.returncode == 2
    assert 'line 2  zone: found "nord"' in run.stderr
