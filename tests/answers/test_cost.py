"""Costs of the worked scenario, by hand."""

from pathlib import Path

import pytest

from towerpace.answers.forecast import forecast
from towerpace.faults import InputError
from towerpace.scenario import load

SCENARIO = Path(__file__).parents[2] / "scenarios" / "by_hand" / "scenario.toml"
MONEY = {"cost": {"unit": "gang-day", "site_overhead_per_day": 2.5}}


def costs(changes):
    found = forecast(load(SCENARIO, MONEY | changes), trials=1, seed=1)
    items = found.outcomes.values["cost"][0] / 1000
    assert found.cost[0] == items.sum() * 1000
    return dict(zip(found.costs.items, items.tolist(), strict=True))


def test_overhead_runs_on_every_calendar_day_up_to_the_finish():
    assert costs({}) == {"site overhead": 3 * 2.5}  # Saturday, Sunday, Monday


def test_a_gang_is_paid_from_its_first_use_to_its_last_on_the_days_that_are_said():
    gang = {"resource.panel_gang.cost_per_day": 1.0, "resource.panel_gang.cost_mobilise": 0.5}
    assert costs(gang)["panel_gang"] == 0.5 + 3 * 1.0
    assert costs(gang | {"resource.panel_gang.paid": "working days"})["panel_gang"] == 0.5 + 2 * 1.0
    assert costs(gang | {"resource.panel_gang.count": 2})["panel_gang"] == 2 * (0.5 + 3 * 1.0)
    assert costs({"resource.bracket_gang.cost_per_day": 1.0})["bracket_gang"] == 1.0


@pytest.mark.parametrize(("due", "late"), [("2027-05-17", 0), ("2027-05-16", 1), ("2027-05-15", 2)])
def test_damages_count_the_days_after_the_date(due, late):
    import datetime as dt

    contract = {"contract": {"all": {"date": dt.date.fromisoformat(due), "damages_per_day": 7.0}}}
    assert costs(contract)["damages all"] == 7.0 * late


def test_damages_stop_at_their_cap_and_can_be_for_a_level():
    import datetime as dt

    contract = {"date": dt.date(2027, 5, 15), "damages_per_day": 7.0, "damages_most": 10.0, "level": 1}
    assert costs({"contract": {"release": contract}})["damages release"] == 10.0


def test_costs_need_a_unit():
    with pytest.raises(InputError, match=r"only with \[cost\], which names the unit"):
        load(SCENARIO, {"resource.hoist.cost_per_day": 1.0})
