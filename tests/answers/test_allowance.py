"""Weather allowance: against the record counted anew, and against the workable hours."""

import csv
import datetime as dt
from pathlib import Path

import numpy as np
import pytest

from towerpace.answers.bid.allowance import ALL_MONTHS, allowance, basis_of
from towerpace.answers.limits_table import _WORDS, limit_rows
from towerpace.answers.open_years import open_years
from towerpace.answers.prepare import prepare
from towerpace.answers.workable import workable, workable_hours
from towerpace.scenario import load
from towerpace.scenario.schema.weather import LIMIT_VARIABLES

SCENARIOS = Path(__file__).parents[2] / "scenarios"
BY_HAND = SCENARIOS / "by_hand" / "scenario.toml"
BLOCKS = {"weather.generator": "blocks", "weather.replay_year": None, "weather.year_factor_sd": 0}
DAY = dt.timedelta(days=1)


def counted_from_the_record(first, last):
    """Hours and days lost above 11 m/s on the calendar of the scenario, read straight from the CSV."""
    gusts = {}
    with open(SCENARIOS / "weather" / "laguardia_2013_hourly.csv", encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            speed = float(row["wind_speed_10m_m_s"])
            gusts[row["time_lst"][5:13]] = float(row["wind_gust_10m_m_s"] or 1.33 * speed)
    shift_of = {**dict.fromkeys(range(5), ((7, 12), (12.5, 16))), 5: ((7, 14),), 6: ()}
    hours, days, day = 0.0, 0, first
    while day <= last:
        shift = lost = 0.0
        for begin, end in shift_of[day.weekday()]:
            shift += end - begin
            for hour in range(24):
                inside = min(end, hour + 1) - max(begin, hour)
                if inside > 0 and gusts[f"{day:%m-%d}T{hour:02d}"] > 11:
                    lost += inside
        hours += lost
        days += shift > 0 and lost >= shift / 2
        day += DAY
    return hours, days


def test_the_record_counts_what_a_count_by_hand_gives():
    """Exponent 0 and no wait for a restart: the gust of the record is the gust on the site."""
    ready = prepare(load(BY_HAND, {"limit.lift.restart_min": 0}))
    rows = {row.month: row for row in allowance(ready, years=1, seed=1, bands=1)}
    assert list(rows) == ["2027-05", "2027-06", ALL_MONTHS]
    may = counted_from_the_record(dt.date(2027, 5, 15), dt.date(2027, 5, 31))
    june = counted_from_the_record(dt.date(2027, 6, 1), dt.date(2027, 6, 13))
    assert may[0] > 5
    assert (rows["2027-05"].record_h, rows["2027-05"].record_days) == (pytest.approx(may[0]), may[1])
    assert (rows["2027-06"].record_h, rows["2027-06"].record_days) == (pytest.approx(june[0]), june[1])
    assert rows[ALL_MONTHS].record_h == pytest.approx(may[0] + june[0])
    # A replay has no chance in it.
    assert rows["2027-05"].hours.mean == pytest.approx(may[0])
    assert rows["2027-05"].steady_hours is None


@pytest.fixture(scope="module")
def wharf():
    return prepare(load(SCENARIOS / "gannet_wharf" / "scenario.toml"))


def test_lost_and_workable_hours_make_up_the_shift(wharf):
    """The same generated years as the workable hours of `towerpace weather`, band by band."""
    lost = allowance(wharf, years=2, seed=3, bands=2)
    start = wharf.tower.start
    (years,) = open_years(wharf, [workable_hours(start)], years=2, seed=3, bands=2)
    left = {(w.operation, w.limits, w.lowest, w.month): w for w in workable(years, start=start)}
    checked = 0
    for row in lost:
        if row.month == ALL_MONTHS:
            continue
        month = f"{dt.date.fromisoformat(row.month + '-01'):%b %Y}"
        other = left.get((row.operation, row.limits, row.lowest, month))
        if other is None:
            continue
        checked += 1
        assert row.shift_h == pytest.approx(other.shift_h)
        assert row.record_h == pytest.approx(row.shift_h - other.record_h)
        assert row.hours.mean == pytest.approx(row.shift_h - other.generated_h, abs=1e-6)
    assert checked >= 24


def test_percentiles_rise_and_the_whole_is_less_than_the_sum_of_the_months_p90():
    ready = prepare(load(BY_HAND, BLOCKS | {"tower.horizon_days": 120, "weather.year_factor_sd": 0.1}))
    rows = allowance(ready, years=60, seed=2, bands=1)
    for row in rows:
        values = [p.value for p in (row.hours.p50, row.hours.p80, row.hours.p90)]
        assert values == sorted(values)
        assert row.hours.p80.bounded
        assert 0 <= row.hours.mean <= row.shift_h
        assert row.steady_hours is not None
    months, whole = rows[:-1], rows[-1]
    assert whole.hours.mean == pytest.approx(sum(row.hours.mean for row in months))
    assert whole.hours.p90.value < sum(row.hours.p90.value for row in months)


@pytest.mark.slow
def test_a_year_factor_widens_the_hours_lost():
    """A log deviation of 0.3 is far more than the weeks of one record differ; same blocks in both."""
    ready = prepare(load(BY_HAND, BLOCKS | {"tower.horizon_days": 300, "weather.year_factor_sd": 0.3}))
    whole = allowance(ready, years=150, seed=1, bands=1, until=dt.date(2028, 3, 1))[-1]

    def width(lost):
        return lost.p90.value - lost.p50.value

    assert width(whole.hours) > 1.5 * width(whole.steady_hours)


def test_the_basis_names_record_years_and_authority():
    ready = prepare(load(BY_HAND, BLOCKS))
    basis = basis_of(ready, years=7)
    assert (basis.record_years, basis.generator, basis.block_days, basis.years) == ((2013,), "blocks", 7, 7)
    (limit,) = limit_rows(ready.scenario.settings)
    assert limit == ("lift", "gusts above 11 m/s", 30, None, "invented, worked by hand")
    assert basis.station.startswith("LaGuardia")


def test_every_kind_of_limit_can_be_told():
    assert set(_WORDS) == set(LIMIT_VARIABLES)


def test_what_cannot_be_asked_is_refused():
    ready = prepare(load(BY_HAND))
    with pytest.raises(ValueError, match="at least one year and one band"):
        allowance(ready, years=0, seed=1)
    calm = prepare(load(SCENARIOS / "one_trade" / "scenario.toml"))
    for asked in (lambda: allowance(calm, years=1, seed=1), lambda: basis_of(calm, years=1)):
        with pytest.raises(ValueError, match="no weather"):
            asked()


def test_bands_without_wind_are_all_alike(wharf):
    rows = allowance(wharf, years=1, seed=1, bands=3, until=dt.date(2027, 4, 30))
    joints = [r for r in rows if "rain_on_joints" in r.limits and r.month == ALL_MONTHS]
    lifts = [r for r in rows if r.limits == ("flat_lift",) and r.month == ALL_MONTHS]
    by_operation = {}
    for row in joints:
        by_operation.setdefault(row.operation, set()).add(round(row.record_h, 9))
    assert all(len(hours) == 1 for hours in by_operation.values())
    assert np.all(np.diff([row.record_h for row in lifts[:3]]) > 0)
