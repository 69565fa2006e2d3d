"""Calm windows: against a count minute by minute, and what must hold of any wind."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import towerpace
from support.command_line import towerpace as command
from support.dice import Dice, on_random
from towerpace.answers.calm import begins_at, days_with
from towerpace.answers.open_years import open_years
from towerpace.answers.prepare import prepare
from towerpace.faults import InputError

HOOK = Path(__file__).parents[2] / "scenarios" / "tower_crane" / "scenario.toml"
DAY, N_DAYS = 1440, 4


def spans_and_length(dice: Dice):
    """Clear spans of four days and a length, both often on the full hour."""
    unit = dice.of((1, 30, 60))
    edges = sorted({dice.whole(0, N_DAYS * DAY // unit) * unit for _ in range(2 * dice.size)})
    spans = np.array(list(zip(edges[::2], edges[1::2], strict=False)), dtype=np.int64).reshape(-1, 2)
    return spans, dice.of((1, 59, 60, 240, 1500))


@on_random(spans_and_length, cases=300)
def test_windows_are_those_of_a_count_minute_by_minute(case):
    spans, length = case
    clear = np.zeros(N_DAYS * DAY + length, dtype=bool)
    for first, last in spans.tolist():
        clear[first:last] = True
    begun = np.concatenate(([0], np.cumsum(clear)))
    starts = begun[length:] - begun[:-length] == length
    starts = starts[: N_DAYS * DAY]
    assert days_with(spans, length, n_days=N_DAYS).tolist() == starts.reshape(-1, DAY).any(axis=1).tolist()
    assert begins_at(spans, length, n_hours=24 * N_DAYS).tolist() == starts[::60].tolist()


@pytest.fixture(scope="module")
def calm():
    return towerpace.weather(towerpace.load(HOOK), trials=2, bands=2, clear_h=[1, 2, 4])


def test_longer_windows_and_higher_levels_have_fewer_days(calm):
    days = calm.frame("calm_days")
    for column in ("shift_days", "record_days", "generated_days"):
        by_length = days.pivot_table(
            index=["operation", "lowest", "month"], columns="clear_h", values=column, sort=False
        )
        assert (by_length[1.0] >= by_length[2.0]).all()
        assert (by_length[2.0] >= by_length[4.0]).all()
    assert (days["record_days"] <= days["shift_days"]).all()
    panels = days[days["operation"].str.startswith("panels")].groupby("lowest")["record_days"].sum()
    assert panels.iloc[0] > panels.iloc[1] > 0


def test_no_hour_has_more_days_than_its_month(calm):
    keys = ["clear_h", "operation", "lowest", "month"]
    most = calm.frame("calm_hours").groupby(keys)[["record_days", "generated_days"]].max()
    days = calm.frame("calm_days").set_index(keys)[["record_days", "generated_days"]]
    assert (most <= days.loc[most.index] + 1e-9).all(axis=None)


def longest(spans):
    return np.diff(spans, axis=1).max(axis=0)


def test_shifts_that_touch_are_one():
    """Day and night shifts of one operation: a window may lie across the change."""
    week = {day: ["00:00-12:00", "12:00-24:00"] for day in ("mon", "tue", "wed", "thu", "fri")}
    ready = prepare(towerpace.load(HOOK, {"calendar.site.week": week}))
    (years,) = open_years(ready, [longest], years=1, seed=1, bands=1)
    assert [year.calendar.item() for year in years if year.operation.name == "seal"] == [5 * DAY]


def test_a_length_out_of_range_is_refused():
    with pytest.raises(InputError, match=r"clear_h\[1\]: found 100; allowed: 0.25 to 72"):
        towerpace.weather(towerpace.load(HOOK), trials=1, clear_h=[2, 100])
    run = command("weather", HOOK, "--trials", 1, "--calm", 0)
    assert run.returncode == 2
    assert "clear_h[0]: found 0; allowed: 0.25 to 72" in run.stderr


def test_its_lines_fit_eighty_columns():
    run = command("weather", HOOK, "--trials", 1, "--calm", 4, "--calm", 2.5)
    assert run.returncode == 0
    assert "days with 2.5 clear hours" in run.stdout
    assert max(map(len, run.stdout.splitlines())) <= 80
