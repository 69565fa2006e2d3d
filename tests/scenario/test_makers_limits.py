"""The maker's limit is nobody's to change, and a limit above the file's own is told."""

from pathlib import Path
from typing import Any

import pytest

from scenario.minimal_scenario import EVERY_TABLE, edited, write_every_table
from towerpace.faults import InputError
from towerpace.scenario import load
from towerpace.scenario.raised_limits import raised_limits
from towerpace.scenario.setups import changed, named_setup

MAKERS = "limit.panel_lift.maker_limit_m_s"
WIND = "limit.panel_lift.wind_above_m_s"
LIMIT = {"wind_above_m_s": 9.5, "kind": "gust", "restart_min": 20, "source": "the lift plan"}
NEW = {"wind_above_m_s": 12, "kind": "gust", "source": "somebody", "maker_limit_m_s": 15}


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ({MAKERS: 12}, "found 12; allowed: 9.8, as in the file"),
        ({MAKERS: {"value": 12, "source": "a leaflet"}}, "found 12; allowed: 9.8, as in the file"),
        ({MAKERS: None}, "missing; allowed: 9.8, as in the file"),
        ({MAKERS: 12, WIND: 12}, "found 12; allowed: 9.8, as in the file"),
        ({"limit.panel_lift": LIMIT}, "missing; allowed: 9.8, as in the file"),
        ({"limit.panel_lift": {**LIMIT, "maker_limit_m_s": 20}}, "found 20; allowed: 9.8, as in the file"),
    ],
)
def test_no_change_touches_the_makers_limit(here: Path, changes: dict[str, Any], found: str):
    with pytest.raises(InputError) as refused:
        load(write_every_table(here), changes)
    faults = [fault.text() for fault in refused.value.faults if "maker" in fault.key]
    assert faults == [f"set {MAKERS}: {found}: no set-up, study or decision changes the maker's limit"]


def test_a_limit_without_a_makers_gets_none_by_a_change(here: Path):
    path = write_every_table(here, toml=edited(EVERY_TABLE, "maker_limit_m_s = 9.8\n", ""))
    with pytest.raises(InputError, match="found 15; allowed: none in the file"):
        load(path, {MAKERS: 15})


def test_the_same_number_and_everything_else_may_be_said_again(here: Path):
    path = write_every_table(here)
    assert load(path, {MAKERS: 9.8}).hash == load(path).hash
    load(path, {"limit.panel_lift": {**LIMIT, "maker_limit_m_s": 9.8}, "limit.new": NEW})


def test_a_set_up_may_go_up_to_the_makers_limit_and_not_above(here: Path):
    setups = f"\n[setup.brave]\n{WIND} = 9.8\n[setup.too_brave]\n{WIND} = 9.9\n"
    base = load(write_every_table(here, toml=EVERY_TABLE + setups))
    (raised,) = raised_limits(base, named_setup(base, "brave").scenario)
    assert raised.text() == f"{WIND}: 9 m/s gust in the base, raised to 9.8 m/s gust"
    with pytest.raises(InputError, match=r"at most maker_limit_m_s, which is 9\.8"):
        named_setup(base, "too_brave")


@pytest.mark.parametrize(
    ("changes", "raised"),
    [
        ({}, []),
        ({WIND: 8}, []),
        ({"limit.frost.temperature_below_degC": 0}, []),
        ({"limit.panel_lift.restart_min": 60}, []),
        ({WIND: 9.5}, [f"{WIND}: 9 m/s gust in the base, raised to 9.5 m/s gust"]),
        # 9 m/s of mean wind goes with gusts of 1.33 times that.
        ({"limit.panel_lift.kind": "mean"}, [f"{WIND}: 9 m/s gust in the base, raised to 9 m/s mean"]),
        ({"limit.panel_lift.kind": "mean", WIND: 6}, []),
        (
            {"limit.panel_lift.height_m": 4},
            ["limit.panel_lift.height_m: at the height of the work in the base, raised to at 4 m"],
        ),
        ({"limit.panel_lift.height_m": 13}, []),
        (
            {"family.flat.limits": []},
            ["family.flat.limits: 9 m/s gust of panel_lift in the base, raised to no wind limit"],
        ),
        (
            {"limit.new": NEW, "hoist.limits": ["new"]},
            ["hoist.limits: 9 m/s gust of panel_lift in the base, raised to 12 m/s gust of new"],
        ),
        ({"limit.new": NEW, "hoist.limits": ["new", "panel_lift"]}, []),
        ({"limit.new": {**NEW, "wind_above_m_s": 7}, "hoist.limits": ["new"]}, []),
        (
            {"limit.new": NEW, "limit.panel_lift": None, "hoist.limits": [], "family.flat.limits": ["new"]},
            [
                "family.flat.limits: 9 m/s gust of panel_lift in the base, raised to 12 m/s gust of new",
                "hoist.limits: 9 m/s gust of panel_lift in the base, raised to no wind limit",
            ],
        ),
    ],
)  # fmt: skip
def test_every_way_to_let_more_wind_pass_is_told(here: Path, changes: dict[str, Any], raised: list[str]):
    base = load(write_every_table(here))
    after = changed(base, "changed", changes).scenario
    assert [one.text() for one in raised_limits(base, after)] == raised
