"""Rates of a site whose truth is known, given back by its log, and pasted into a scenario file."""

import json
from datetime import date

import numpy as np
import pytest

from support import command_line, wharf_in_small
from support.logged_site import LoggedSite, Truth
from support.site_record import START, recorded, reporting_site
from towerpace import InputError, build, check, forecast, load, rates
from towerpace.answers.learn.items import Stated
from towerpace.answers.prepare import prepare
from towerpace.answers.rates import rates as of_record
from towerpace.answers.rates.fragment import changes_of, fragment
from towerpace.answers.rates.respread import about_one, respread
from towerpace.scenario.setups import named_setup
from towerpace.scenario.spreads import Spread

SLOW = Truth(1.15, spread=1.3)
SETUP = "rates_of_gannet_wharf"


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """The small wharf, and the files of a site on which everybody takes 1.15 times as long as stated."""
    folder = tmp_path_factory.mktemp("rates")
    path = wharf_in_small.write(folder / "wharf")
    ready = prepare(load(path))
    truths = dict.fromkeys(ready.tower.trades, SLOW)
    return path, LoggedSite(ready, seed=4, trial=2, truths=truths).write(folder)


@pytest.fixture(scope="module")
def told(site):
    path, files = site
    return rates(load(path), **files)


def test_known_levels_and_scatters_are_given_back(told, site):
    """A hundred and more panels say both; 99 % intervals of six trades hold the truth."""
    by_trade = {rate.trade: rate.learned for rate in told.detail.trades}
    assert len(by_trade) == 6
    ends = np.array([0.005, 0.995])
    for learned in by_trade.values():
        low, high = learned.quantile(ends)
        assert low < SLOW.level < high
        low, high = learned.scatter(ends)
        assert low < SLOW.spread < high
    panels = by_trade["panels"]
    assert panels.exact > 100
    assert panels.quantile(0.5) == pytest.approx(SLOW.level, rel=0.06)
    frame = told.frame("rates").set_index("column")
    stated = load(site[0]).settings.family["flat"].set_min.mean()
    assert frame.loc["flat", "stated_min"] == pytest.approx(stated)
    assert frame.loc["flat", "site_min_low"] < SLOW.level * stated < frame.loc["flat", "site_min_high"]


def test_moves_and_trips_are_those_of_the_trial(told):
    """Both are drawn as stated; three standard errors of some thirty moves and trips."""
    for timed in told.detail.timed:
        assert timed.times > 25
        assert timed.level == pytest.approx(1.0, abs=0.15)
    assert told.frame("moves")["what"].tolist() == [
        "crane, to the next position",
        "hoist, loading and unloading",
    ]


def test_the_set_up_is_pasted_checked_and_played(told, tmp_path):
    pasted = wharf_in_small.write(tmp_path / "next")
    # The demo's own set-ups speak of levels that the small wharf does not have.
    text = pasted.read_text(encoding="utf-8").split("[setup.")[0]
    pasted.write_text(f"{text}\n{told.toml}", encoding="utf-8")
    scenario = load(pasted)
    assert check(scenario).answer.said
    set_up = named_setup(scenario, SETUP)
    flat = set_up.scenario.settings.family["flat"].set_min
    assert flat.mean() == pytest.approx(1.15 * scenario.settings.family["flat"].set_min.mean(), rel=0.06)
    assert "log of Gannet Wharf" in flat.source
    assert forecast(set_up.scenario, trials=2).answer.run.trials == 2
    lifts = told.detail.ready.tower.panels
    planned = [build(tower).plan.work[lifts].sum() for tower in (scenario, set_up.scenario)]
    assert planned[1] > 1.05 * planned[0]
    # As changes it is the same scenario.
    assert load(pasted, told.changes).settings == set_up.scenario.settings


def test_who_did_it_is_never_told(told, site):
    _, files = site
    whole = told.toml + json.dumps(told.to_json()) + repr(told)
    assert "Ann Example" in files["log"].read_text(encoding="utf-8")
    assert "Ann Example" not in whole
    assert "panels 1" not in whole


def test_rates_of_few_items_or_one_gang_say_so(site):
    path, files = site
    early = rates(load(path), **files, at=date(2027, 5, 1))
    remarks = early.frame("rates").set_index("trade")["remark"]
    assert remarks["brackets"] == "few, one gang"
    assert any("one gang alone" in caution for caution in early.answer.cautions)
    assert "few, one gang" in early.changes["trade.brackets.unit_min"]["source"]


LOG = """
    panels,1,north,1,2027-03-03T08:00,2027-03-03T08:50,gang 1,set,
    panels,1,north,2,2027-03-03T08:50,2027-03-03T09:40,gang 1,set,
    panels,1,north,3,2027-03-03T09:40,2027-03-03T09:50,gang 1,broken,
    panels,1,north,4,2027-03-03T10:10,2027-03-03T11:00,gang 1,set,
    panels,1,north,5,2027-03-03T11:00,2027-03-03T11:50,gang 1,rejected,
    panels,1,north,6,2027-03-03T12:00,2027-03-03T12:50,gang 1,set,
    panels,1,north,7,2027-03-03T13:05,,gang 1,,
"""


def test_losses_are_counted_among_panels_that_the_log_names(tmp_path):
    """One of five broke, as the rejected one could not and the seventh is not over: (4 + 1) / (40 + 5)."""
    sheet = "2027-03-04,panels,1,north,6,\n2027-03-04,panels,1,east,9,"
    detail = of_record.rates(reporting_site(), recorded(tmp_path, sheet, log=LOG))
    (broken, unfit) = sorted(detail.losses, key=lambda seen: seen.kind.kind)
    assert (broken.lost, broken.exposed, unfit.lost, unfit.exposed) == (1, 5, 1, 6)
    assert changes_of(detail)["family.flat.handling_break_chance"]["value"] == pytest.approx(5 / 45, rel=1e-3)
    assert "Mon 01 Mar 2027" not in fragment(detail)


def test_a_move_is_the_gap_between_two_panels(tmp_path):
    """The fourth panel follows a lost one; from the sixth to the seventh the crane moves 15 minutes."""
    ready = reporting_site()
    detail = of_record.rates(ready, recorded(tmp_path, "2027-03-04,panels,1,north,6,", log=LOG))
    (moved,) = detail.timed
    assert (moved.times, moved.site[0]) == (1, 15.0)


def test_work_in_progress_is_seen_as_long_as_the_log_was_kept(tmp_path):
    """The seventh panel has no finish: a sheet three weeks later does not make it last three weeks."""
    sheets = ("2027-03-03,panels,1,north,6,", "2027-03-24,panels,1,north,9,")
    now, later = (
        of_record.rates(reporting_site(), recorded(tmp_path, sheet, log=LOG)).trades[0] for sheet in sheets
    )
    assert now.learned.running == later.learned.running == 1
    assert later.level == now.level


def test_a_log_alone_is_read_to_its_last_day(tmp_path):
    (tmp_path / "log.csv").write_text(
        "what,level,zone,panel,start,finish,unit\nhandover,1,,,2027-03-01,2027-03-02,\n", encoding="utf-8"
    )
    scenario = reporting_site().scenario
    with pytest.raises(
        InputError, match="no row about any trade; allowed: rows about a trade: panels, brackets"
    ):
        rates(scenario, tmp_path / "log.csv")
    with pytest.raises(InputError, match="missing file"):
        rates(scenario, tmp_path / "none.csv")
    row = f"brackets,1,north,,{START}T07:00,{START}T17:00,\n"
    with (tmp_path / "log.csv").open("a", encoding="utf-8") as file:
        file.write(row)
    told = rates(scenario, tmp_path / "log.csv")
    assert told.answer.fact("data_date") == date(2027, 3, 2)
    assert told.frame("rates")["gangs"].isna().all()


@pytest.mark.parametrize("scatter", [0.5, 1.0, 1.6, 4.0])
@pytest.mark.parametrize(
    "stated",
    [
        Spread.pert(low=18, likely=36, high=75),
        Spread.triangular(low=4, likely=5, high=9),
        Spread.quantiles(p10=8, p50=10, p90=12),
        Spread.samples([3.0, 4.0, 4.5, 6.0, 9.0]),
    ],
)
def test_a_spread_is_given_another_mean_and_scatter(stated, scatter):
    wider = respread(stated, level=1.25, scatter=scatter)
    assert wider.without_negatives().mean() == pytest.approx(1.25 * stated.mean(), rel=2e-3)
    assert Stated.of([wider]).scatter == pytest.approx(scatter * Stated.of([stated]).scatter, rel=5e-3)


def test_a_pace_keeps_its_width_about_one():
    pace = about_one(Spread.pert(low=0.85, likely=1.0, high=1.4))
    assert float(pace.quantile(np.array(0.5))) == pytest.approx(1.0, rel=1e-3)
    assert pace.params[2] / pace.params[0] == pytest.approx(1.4 / 0.85, rel=1e-3)
    left = Spread.quantiles(p10=0.96, p50=1.0, p90=1.05)
    assert about_one(Spread.constant(1.0), if_certain=left).params == left.params


@pytest.mark.slow
def test_the_command_writes_the_set_up(site, told, tmp_path):
    path, files = site
    asked = ("rates", path, "--log", files["log"], "--wind", files["wind"])
    run = command_line.towerpace(*asked, "--out", tmp_path / "rates.toml")
    assert run.returncode == 0, run.stderr
    assert (tmp_path / "rates.toml").read_text(encoding="utf-8") == told.toml
    assert max(map(len, run.stdout.splitlines()[:-1])) <= 80  # the last one is the path
    run = command_line.towerpace(*asked, "--out", tmp_path / "kept", "--json")
    assert json.loads(run.stdout) == told.to_json()
    assert (tmp_path / "kept" / "rates.csv").is_file()
    assert (tmp_path / "kept.toml").is_file()
