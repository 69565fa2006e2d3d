"""Wind carried from a height on the site to the station and back, by the height law of the scenario."""

from pathlib import Path

import numpy as np
import pytest

from towerpace.climate.height import gust_ratio
from towerpace.record.site_weather import at_height, at_station, measured_at_station
from towerpace.record.wind import SiteHours
from towerpace.scenario import load

DEMO = load(Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "scenario.toml").settings.weather


def test_there_and_back_is_the_same():
    heights = np.array([40.0, 165.0, 165.0])
    values = np.array([3.0, 8.0, 0.0])
    for quantity in ("speed", "gust"):
        there = at_height(values, quantity=quantity, height_m=heights, weather=DEMO)
        assert at_station(there, quantity=quantity, height_m=heights, weather=DEMO) == pytest.approx(values)


def test_a_gust_at_152_m_is_the_ratio_of_the_law():
    """EN 1991-1-4, terrain IV against the open field at 10 m: 1.1875, as worked in `gust_ratio`."""
    there = at_height(np.array([10.0]), quantity="gust", height_m=np.array([152.0]), weather=DEMO)
    assert there[0] == pytest.approx(11.875, abs=1e-3)
    assert gust_ratio(152, law="en1991", exposure="IV") == pytest.approx(1.1875, abs=1e-4)


def test_a_missing_gust_is_the_factor_times_the_mean_and_a_gap_stays():
    values = {"speed": np.array([10.0, np.nan]), "gust": np.array([np.nan, np.nan])}
    hours = SiteHours(np.array([True, False]), values, np.full(2, 10.0))
    station = measured_at_station(hours, DEMO)
    assert station["gust"][0] == pytest.approx(1.33 * station["speed"][0])
    assert np.isnan(station["gust"][1])
