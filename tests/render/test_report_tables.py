"""Tables hold the numbers of the trials: each is counted again from the outcomes with numpy."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from towerpace import __version__
from towerpace.answers.estimates import LATER, percentile
from towerpace.answers.forecast_said import said
from towerpace.answers.forecast_tables import FORECAST_TABLES
from towerpace.answers.progress import ranked
from towerpace.answers.said.kinds import On
from towerpace.render.frames import frame, stamped

START = dt.date(2027, 3, 1)


@pytest.fixture(scope="module")
def tables(ten):
    return tables_of(ten)


def tables_of(forecast):
    answer = said(forecast)
    return {table.name: frame(stamped(table, answer.run)) for table in answer.tables_on(On.FILE)}


def day_of(minute):
    """The day whose last midnight, or a moment before it, the minute is."""
    return START + dt.timedelta(days=-(-int(minute) // 1440) - 1)


def dates(column):
    return [None if pd.isna(value) else value.date() for value in column]


def test_every_table_has_its_columns_in_order_and_the_stamp_of_the_run(ten, tables):
    described = {table.name: table for table in FORECAST_TABLES if On.FILE & table.on}
    assert list(tables) == list(described)
    for name, table in tables.items():
        columns = [column.name for column in described[name].columns]
        assert list(table.columns) == [*columns, "scenario_hash", "seed", "version"]
        # the scenario has no weather
        assert len(table) > 0 or name in ("activities", "limits", "weather_lost")
        assert (table["scenario_hash"] == ten.scenario.hash[:12]).all()
        assert (table["seed"] == 3).all()
        assert (table["version"] == __version__).all()


def test_finish_has_a_row_a_trial_with_minute_and_date(ten, tables):
    minutes = ten.outcomes.values["finish"]

    assert tables["finish"]["finish_min"].tolist() == minutes.tolist()
    assert dates(tables["finish"]["finish"]) == [day_of(m) for m in minutes]


def test_percentiles_are_the_ordered_finishes(ten, tables):
    """Rank ceil(n p) of ten trials: 1st, 5th, 8th and 9th."""
    ordered = np.sort(ten.outcomes.values["finish"])

    assert tables["percentiles"]["percentile"].tolist() == ["P10", "P50", "P80", "P90"]
    assert dates(tables["percentiles"]["finish"]) == [day_of(ordered[k]) for k in (0, 4, 7, 8)]


def test_an_interval_stands_only_where_ten_trials_allow_one(tables):
    """For P50 of ten the ranks are 2 and 9 (Conover 1999, from memory); for the others there are none."""
    table = tables["percentiles"]

    assert table["finish_low"].notna().tolist() == [False, True, False, False]
    assert table["finish_high"].notna().tolist() == [False, True, False, False]


def test_chances_are_counted_trials(ten, tables):
    values = ten.outcomes.values
    second = values["closing_in"][:, 1] <= 33 * 1440  # 2 April is day 32, its end the midnight of day 33
    end = values["finish"] <= 39 * 1440
    table = tables["contracts"].set_index("contract")

    assert table.loc["release", "chance"] == second.mean()
    assert table.loc["end", "chance"] == end.mean()
    assert table.loc["all together", "chance"] == (second & end).mean()
    assert table.loc["release", "level"] == 2
    assert pd.isna(table.loc["end", "level"])


def test_the_contract_date_of_a_level_stands_beside_its_closing_in(tables):
    assert dates(tables["closing_in"]["contract_date"]) == [None, dt.date(2027, 4, 2), None]
    assert tables["closing_in"]["height_m"].tolist() == [4.0, 8.0, 12.5]


def test_flow_gives_the_ranked_days_of_every_trade_and_level(ten, tables):
    flow = tables["flow"]
    values = ten.outcomes.values

    assert flow["trade"].unique().tolist() == [
        "structure",
        "brackets",
        "panels",
        "seal",
        "boards",
        "closing-in",
    ]
    for k, trade in enumerate(ten.tower.trades):
        rows = flow[flow["trade"] == trade]
        for name, rank in (("p10", 0), ("p50", 4), ("p90", 8)):
            expected = [day_of(m) for m in np.sort(values["done"][:, k], axis=0)[rank]]
            assert dates(rows[f"done_{name}"]) == expected


def test_a_level_handed_over_at_midnight_is_there_on_the_day_that_begins(playing):
    """Without slips the structure is handed over on the dates of the level table."""
    flow = tables_of(playing(trials=2, structure__slip_days=0))["flow"]

    planned = [dt.date(2027, 3, 1), dt.date(2027, 3, 8), dt.date(2027, 3, 15)]
    assert dates(flow[flow["trade"] == "structure"]["done_p50"]) == planned


@pytest.mark.parametrize("p", [0.1, 0.5, 0.7, 0.9])
@pytest.mark.parametrize("n", [1, 9, 10, 11, 200])
def test_ranked_takes_the_rank_of_the_percentiles(n, p):
    values = np.random.default_rng(n).integers(0, 1000, size=(n, 2))

    expected = [percentile(values[:, k], p).value for k in range(2)]
    assert ranked(values, p).tolist() == expected


def test_the_s_curve_ends_in_the_week_in_which_the_last_trial_has_all_panels(ten, tables):
    curve, panels = tables["s_curve"], ten.outcomes.values["panels"]

    assert (curve["panels_total"] == 36).all()  # 8 + 6 + 8 + 6 + 8 in the level table
    assert curve["panels_p10"].iloc[-1] == 36
    assert (panels[:, len(curve) - 2] < 36).any()
    assert curve["panels_p50"].tolist() == np.sort(panels, axis=0)[4, : len(curve)].tolist()
    sundays = [START + dt.timedelta(days=7 * week + 6) for week in range(len(curve))]
    assert dates(curve["week_end"]) == sundays


def test_the_ledger_holds_the_mean_hours_of_a_trial(ten, tables):
    table = tables["ledger"].set_index(["trade", "cause"])["mean_h"]
    booked = ten.outcomes.values["ledger"].mean(axis=0) / 60

    for row, trade in enumerate(ten.rows):
        for column, cause in enumerate(ten.causes):
            assert table.get((trade, cause), 0.0) == pytest.approx(booked[row, column], abs=1e-9)


def test_the_ledger_by_level_adds_up_to_the_ledger(tables):
    by_level = tables["ledger_by_level"].groupby(["trade", "cause"])["mean_h"].sum()
    whole = tables["ledger"].set_index(["trade", "cause"])["mean_h"]

    assert by_level.index.sort_values().equals(whole.index.sort_values())
    assert by_level.sort_index().to_numpy() == pytest.approx(whole.sort_index().to_numpy())


def test_assumptions_without_a_source_are_flagged(ten, tables):
    table = tables["assumptions"]

    blank = table["rests_on"] == "blank"
    assert table.loc[blank, "key"].tolist() == ten.scenario.sources_missing()
    assert blank.any()
    assert not blank.all()


def test_trials_beyond_the_horizon_are_blank_and_count_as_the_latest(late):
    tables = tables_of(late)
    missing = late.outcomes.values["finish"] == LATER

    assert tables["finish"]["finish_min"].isna().tolist() == missing.tolist()
    assert tables["finish"]["finish"].isna().tolist() == missing.tolist()
    known = np.array([0.1, 0.5, 0.8, 0.9]) * 10 <= (~missing).sum()
    assert tables["percentiles"]["finish"].notna().tolist() == known.tolist()
    assert tables["percentiles"]["working_day"].notna().tolist() == known.tolist()


def test_no_week_of_the_s_curve_ends_after_the_horizon(late):
    assert tables_of(late)["s_curve"]["week_end"].max().date() <= START + dt.timedelta(days=35)


def test_a_tower_without_panels_contracts_and_closing_in_has_empty_tables(playing):
    tables = tables_of(playing(trials=2, one_trade=True))

    empty = {name for name, table in tables.items() if table.empty}
    assert empty == {"activities", "closing_in", "contracts", "s_curve", "limits", "weather_lost"}
    assert "week_end" in tables["s_curve"].columns
