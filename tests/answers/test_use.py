"""How busy the resources are: against sums done by hand, and panels against a count of the diary."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from support.line_site import LineTrade, write_line
from support.short_tower import write_short_tower
from towerpace import forecast, load, run, use
from towerpace.answers.prepare import prepare
from towerpace.answers.use.places import PanelPlaces
from towerpace.engine.diary import NEVER
from towerpace.units import DAY_MIN

DAY = 24.0  # hours
FIRST, SECOND = LineTrade({"x": 1}, (3 * DAY_MIN,) * 3), LineTrade({"y": 1}, (6 * DAY_MIN,) * 3)


@pytest.fixture
def by_hand(tmp_path):
    """Two floors, day and night: trade 1 on days 0-3 and 3-6 with one of two x, trade 2 on 3-9 and 9-15."""
    site = write_line(tmp_path, trades=[FIRST, SECOND], counts={"x": 2, "y": 1}, floors=2, pace=False)
    return use(load(site), trials=2)


def test_unit_hours_idle_share_and_waits_are_those_by_hand(by_hand):
    rows = by_hand.frame("resources").set_index("resource")
    # Both floors are free at once, so both units of x work for three days and none is idle.
    assert rows.loc["x", ["busy_h", "idle_share", "waited_h"]].tolist() == [6 * DAY, 0.0, 0.0]
    # y takes one floor after the other: the second waits from day 3 to day 9.
    assert rows.loc["y", ["busy_h", "idle_share", "waited_h"]].tolist() == [12 * DAY, 0.0, 6 * DAY]


def test_weeks_share_out_what_is_held_and_waited_for(by_hand):
    weeks = by_hand.frame("by_week").set_index("resource").loc["y"]
    assert weeks["busy_h"].tolist() == [4 * DAY, 7 * DAY, 1 * DAY]
    assert weeks["waited_h"].tolist() == [4 * DAY, 2 * DAY, 0.0]
    assert weeks["utilisation"].round(6).tolist() == [round(4 / 7, 6), 1.0, round(1 / 7, 6)]
    scarce = by_hand.frame("scarce")
    assert scarce["resource"].fillna("").tolist() == ["y", "y", ""]
    assert scarce["week_end"].dt.date.tolist()[0] == date(2027, 1, 7)


def test_idle_is_what_nobody_holds_between_first_and_last_use(tmp_path):
    # One x of two at a time on the second and third floor: held for 2 of 3, then 1 of 2 units' days.
    site = write_line(tmp_path, trades=[FIRST], counts={"x": 2}, floors=3, pace=False)
    assert use(load(site), trials=2).frame("resources")["idle_share"].tolist() == [0.25]


def test_what_leaves_the_site_is_no_longer_there(tmp_path):
    dismantled = {
        "[closing_in]\n": '[activity.hoist_out]\nwork_h = 9\nremoves = { hoist = "all" }\n'
        'calendar = "site"\nafter = [{ on = "closing_in", level = 1 }]\n[closing_in]\n',
    }
    played = use(load(write_short_tower(tmp_path, levels=1, replace=dismantled)), trials=3).detail
    hoist = played.resources.index("hoist")
    assert (played.outcomes.values["there"][:, hoist, -1] == 0).all()
    assert (played.outcomes.values["there"][:, hoist, 0] > 0).all()


def test_panels_stand_where_the_diary_has_them(tmp_path):
    ready = prepare(load(write_short_tower(tmp_path)))
    plan, draw = ready.tower.plan, ready.chooser.draw(1, 0)
    diary = run(plan, draw)
    edges = np.linspace(0, int(diary.finish), 12).astype(np.int64)
    made, yard, floors, holes = PanelPlaces(ready.tower).of(draw, diary, edges=edges)
    up, unloaded, left = _counted(ready, diary, edges)
    assert floors.tolist() == (up - left).tolist()
    assert yard.tolist() == (unloaded - up).tolist()
    assert made[-1] == yard[-1] == floors[-1] == 0
    assert floors.max() > 0
    assert (holes >= 0).all()


def _counted(ready, diary, edges):
    """Panels up, unloaded and passed by the gang at each moment, counted by the names of the steps."""
    plan, crate_panels = ready.tower.plan, _crate_size(ready.scenario)
    counts = np.zeros((3, len(edges)), dtype=int)
    for name in [name for name in plan.names if name.rpartition(": ")[2].startswith("panel ")]:
        front, number = name.rsplit(": panel ", 1)
        crate = (int(number) - 1) // crate_panels + 1
        steps = (f"{front}: crate {crate} up", f"{front}: truck 1 unloaded", name)
        for count, step in zip(counts, steps, strict=True):
            minute = diary.finished_at(step)
            count[:] += (minute != NEVER) & (minute <= edges)
    return counts


def _crate_size(scenario):
    (family,) = scenario.settings.family.values()
    return family.crate_panels


def test_the_stock_of_the_demo_ends_empty():
    demo = Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "scenario.toml"
    stock = use(load(demo), trials=2).frame("stock")
    assert stock.filter(like="p50").iloc[-1].tolist() == [0, 0, 0, 0]
    assert stock["holes_p90"].max() > 0
    assert stock["floors_p50"].max() > 0


def test_waits_are_those_of_the_forecast(tmp_path):
    """One question, one number: hours waited for a resource, of all rows of the forecast's ledger."""
    scenario = load(write_short_tower(tmp_path))
    waited = use(scenario, trials=4).frame("resources").set_index("resource")["waited_h"]
    ledger = forecast(scenario, trials=4).frame("ledger").groupby("cause")["mean_h"].sum()
    assert waited["hoist"] > 0
    for resource, hours in waited.items():
        assert hours == pytest.approx(ledger.get(f"waiting for {resource}", 0.0))
