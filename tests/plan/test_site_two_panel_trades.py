"""Trades that count their items alike draw apart: panel, crate, truck k of one say nothing of another's.

All fronts are on one level, so that all hoist trips are of one height; all numbers are invented. Under
independence the rank correlation of n pairs has the standard error 1 / sqrt(n - 1), ties or not (Kendall &
Gibbons, Rank Correlation Methods, from memory); seeds are fixed and four standard errors are allowed.
"""

from itertools import combinations

import numpy as np
import pytest
from scipy.stats import spearmanr

from support.panel_site import row, site
from towerpace.answers.bid import sources_of_spread as spread
from towerpace.draws import as_planned
from towerpace.plan import chance

WIDE = {"low": 5, "likely": 20, "high": 90, "shape": "pert"}
ZONES = [f"z{k}" for k in range(60)]
ROWS = [row(1, zone, flat=4, sound=4, joints=4, left=4, day=20) for zone in ZONES]
ANYTHING = {"set_min": WIDE, "limits": [], "crate_panels": 2, "remake_days": WIDE, "later_found_days": WIDE}
ANYTHING |= {"misfit_min": WIDE, "handling_break_chance": 0.3, "later_break_chance": 0.3}
SITE = {
    "family": {
        "flat": ANYTHING | {"column": "flat"},
        "sound": ANYTHING | {"column": "sound"},
        "fin": ANYTHING | {"column": "left"},
    },
    "crane__set_up_min": WIDE,
    "crane__reposition_min": WIDE,
    "crane__panels_per_position": 2,
    "hoist__load_min": WIDE,
    "hoist__unload_min": WIDE,
    "hoist__empties": True,
    "delivery__crates_per_truck": 1,
    "delivery__unload_min": WIDE,
    "delivery__late_chance": 0.5,
    "delivery__late_h": WIDE,
    "delivery__early_chance": 0.5,
    "delivery__early_h": WIDE,
    "delivery__wrong_order_chance": 0.5,
    "delivery__sort_min": WIDE,
}
ON_CALL = {"delivery__order": "call-off", "delivery__levels_ahead": 1, "delivery__lead_days": WIDE}
KINDS = [
    *("truck 1 arrives", "truck 1 unloaded", "truck 2 sorted", "crate 1 up", "crate 2 down"),
    *("move in", "move after panel 2", "panel 1", "panel 1 remade", "panel 1 up again", "panel 1 again"),
    *("panel 1 return: move in", "panel 1 replacement made", "panel 1 replacement: move in"),
    "panel 1 replaced",
]


def trade(family, **more):
    start = [{"on": "handover"}]
    table = {"kind": "panels", "families": [family], "needs": {"gang": 1}, "calendar": "always"}
    return table | {"after": start} | more


PANELS, SOFFITS, FINS = trade("flat"), trade("sound"), trade("fin")
SEAL = {"kind": "gang", "column": "joints", "unit_min": WIDE, "needs": {"sealer": 1}, "calendar": "always"}
SEAL |= {"after": [{"on": "panels", "lag_h": WIDE}], "coats": 3, "drying_h": WIDE}


@pytest.fixture(scope="module")
def three(tmp_path_factory):
    trades = {"panels": PANELS, "soffits": SOFFITS, "fins": FINS}
    return site(tmp_path_factory.mktemp("three"), ROWS, trade=trades, **SITE)


@pytest.fixture(scope="module")
def trials_of_three(three):
    return drawn(three)


def drawn(ready):
    """What chance decided about every step in three trials: minutes, date, whether it is left out."""
    names, draws = ready.tower.plan.index, [ready.chooser.draw(11, trial) for trial in range(3)]
    arrays = [np.stack((draw.work, draw.date, draw.skip), axis=1).tolist() for draw in draws]
    return [{name: array[k] for name, k in names.items()} for array in arrays]


def of_trade(trials, name, kind):
    """What was drawn for the steps of one kind of a trade, (k, 3)."""
    bases = [f"{name} L1 {zone}" for zone in ZONES]
    return np.array([one[f"{base}: {kind}" if kind else base] for one in trials for base in bases])


def assert_unrelated(a, b):
    """Each drawn column that varies in both; there is one at least."""
    varying = [k for k in range(3) if np.ptp(a[:, k]) and np.ptp(b[:, k])]
    assert varying
    for k in varying:
        assert abs(spearmanr(a[:, k], b[:, k]).statistic) < 4 / (len(a) - 1) ** 0.5


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("pair", [*combinations(("panels", "soffits", "fins"), 2)], ids=" and ".join)
def test_what_is_drawn_for_two_panel_trades_is_unrelated(trials_of_three, pair, kind):
    assert_unrelated(*(of_trade(trials_of_three, name, kind) for name in pair))


def test_trucks_on_call_of_two_panel_trades_are_unrelated(tmp_path):
    trials = drawn(site(tmp_path, ROWS, trade={"panels": PANELS, "soffits": SOFFITS}, **SITE, **ON_CALL))
    assert_unrelated(*(of_trade(trials, name, "truck 1 on its way") for name in ("panels", "soffits")))


@pytest.mark.parametrize("kind", ["", "coat 1", "dry after coat 2", "wait after panels"])
def test_what_is_drawn_for_two_gang_trades_is_unrelated(tmp_path, kind):
    trials = drawn(site(tmp_path, ROWS, trade={"panels": PANELS, "seal": SEAL, "paint": SEAL}, **SITE))
    assert_unrelated(*(of_trade(trials, name, kind) for name in ("seal", "paint")))


def test_a_panel_trade_behind_the_others_changes_no_number_of_theirs(tmp_path):
    breakdown = {"resource__hoist__breakdown": {"every_h": WIDE, "repair_h": WIDE}}
    early = {"panels": PANELS, "seal": SEAL}
    alone = drawn(site(tmp_path / "alone", ROWS, trade=early, **SITE, **breakdown))
    more = drawn(site(tmp_path / "more", ROWS, trade=early | {"soffits": SOFFITS}, **SITE, **breakdown))
    for before, after in zip(alone, more, strict=True):
        assert len(after) > len(before)
        assert {name: after[name] for name in before} == before


def either_first(folder, **changes):
    """Three trials of the same two panel trades, written in either order."""
    orders = ({"panels": PANELS, "soffits": SOFFITS}, {"soffits": SOFFITS, "panels": PANELS})
    return [
        drawn(site(folder / str(k), ROWS, trade=trades, **SITE, **changes)) for k, trades in enumerate(orders)
    ]


@pytest.mark.parametrize("kind", ["panel 1", "crate 1 up", "truck 1 arrives", "truck 1 sorted"])
def test_the_panel_trade_that_stands_first_in_the_file_draws_under_the_bare_purposes(tmp_path, kind):
    one, other = either_first(tmp_path)
    assert np.array_equal(of_trade(other, "soffits", kind), of_trade(one, "panels", kind))
    assert not np.array_equal(of_trade(other, "panels", kind), of_trade(one, "panels", kind))


def test_a_risk_to_a_panel_trade_is_drawn_alike_wherever_the_trade_stands(tmp_path):
    risk = {"name": "strike", "chance": 0.5, "on": "soffits", "delay_days": WIDE}
    one, other = either_first(tmp_path, risk=[risk])
    assert [trial["risk strike"] for trial in one] == [trial["risk strike"] for trial in other]


def test_trucks_of_every_panel_trade_count_as_deliveries(three):
    draw = spread.without(three, [chance.DELIVERIES]).draw(11, 0)
    plan, planned = three.tower.plan, as_planned(three.tower.plan)
    trucks = [k for name, k in plan.index.items() if ": truck " in name]
    assert len(trucks) > 3 * len(ZONES)
    for word in ("work", "date", "skip"):
        assert np.array_equal(getattr(draw, word)[trucks], getattr(planned, word)[trucks])
