"""Wind at height and the hours it stops, against published tables, a wind library and closed forms.

Oracles, each named at its test: the height table of a plant-hire association, EN 1991-1-4, ASCE/SEI 7-16,
figures of the general wind library windpowerlib, the Weibull law by scipy, and the Saffir-Simpson scale. The
equations are written out here a second time and share no code with the product.
"""

import math

import numpy as np
import pytest
from scipy.stats import weibull_min

from towerpace.climate.columns import KNOT_M_S, MILE_PER_HOUR_M_S
from towerpace.climate.height import gust_ratio, mean_ratio
from towerpace.climate.hours import Hours
from towerpace.climate.limits import HourLimit, stopped
from towerpace.plan.site.closures import wind_ratio
from towerpace.scenario.schema import Weather

FOOT_M = 0.3048
HOURS_A_YEAR = 8760


# Construction Plant-hire Association, Technical Information Note 101 (2009), page 2: multipliers in open
# country, read in a document that quotes the table.
CRANE_NOTE = {
    10: 1.00,
    20: 1.10,
    30: 1.17,
    40: 1.22,
    50: 1.26,
    60: 1.29,
    70: 1.32,
    80: 1.35,
    90: 1.37,
    100: 1.39,
}


def test_one_seventh_power_gives_the_height_table_of_the_crane_note(stand):
    heights_m, table = zip(*CRANE_NOTE.items(), (150, 1.47), strict=True)
    got = [mean_ratio(height_m, law="power", exponent=1 / 7) for height_m in heights_m]
    check = "wind at 10, 20 ... 100 and 150 m over that at 10 m, power 1/7"
    source = "Construction Plant-hire Association, note 101"
    stand(check, source, expected=table, got=got, within=0.0055)


@pytest.mark.parametrize(
    ("exponent", "height_m", "speed_m_s"),
    [(1 / 7, 100, 11.11596), (0.22, 200, 15.4638), (0.33, 300, 24.5776)],
)
def test_power_law_carries_8_m_s_to_the_published_speeds(exponent, height_m, speed_m_s):
    """8 m/s at 10 m; the first is the Hellmann profile of windpowerlib, the others by its formula."""
    assert 8 * mean_ratio(height_m, law="power", exponent=exponent) == pytest.approx(speed_m_s, abs=1e-4)


@pytest.mark.parametrize(
    ("exposure", "z0_m", "height_m", "speed_m_s"), [("III", 0.3, 100, 13.25321), ("IV", 1, 200, 18.4082)]
)
def test_en_means_over_one_terrain_follow_the_logarithmic_law(exposure, z0_m, height_m, speed_m_s):
    """8 m/s at 10 m; windpowerlib's logarithmic profile gives 13.25321 for roughness 0.3 m at 100 m."""
    above, at_10_m = (mean_ratio(z, law="en1991", exposure=exposure) for z in (height_m, 10))
    assert 8 * above / at_10_m == pytest.approx(speed_m_s, abs=1e-4)
    assert above / at_10_m == pytest.approx(math.log(height_m / z0_m) / math.log(10 / z0_m), abs=1e-12)


# EN 1991-1-4 Table 4.1, read in a secondary document: roughness and least height [m].
EN_TERRAIN = {"0": (0.003, 1), "I": (0.01, 1), "II": (0.05, 2), "III": (0.3, 5), "IV": (1.0, 10)}


def en_1991(height_m, terrain):
    """Mean speed at a basic speed of 25 m/s [m/s], turbulence and exposure factor [-]; eqs 4.3 to 4.8."""
    z0_m, least_m = EN_TERRAIN[terrain]
    z_m = max(height_m, least_m)
    roughness = 0.19 * (z0_m / 0.05) ** 0.07 * math.log(z_m / z0_m)
    turbulence = 1 / math.log(z_m / z0_m)
    return 25 * roughness, turbulence, (1 + 7 * turbulence) * roughness**2


@pytest.mark.parametrize(
    ("terrain", "height_m", "mean_m_s", "turbulence", "exposure"),
    [
        ("II", 10, 25.167, 0.1887, 2.352),
        ("III", 100, 31.281, 0.1721, 3.452),
        ("IV", 200, 31.039, 0.1887, 3.578),
    ],
)
def test_en_gives_the_published_mean_turbulence_and_exposure_factor(
    terrain, height_m, mean_m_s, turbulence, exposure, *, stand
):
    """At a basic speed of 25 m/s. Our ratios refer to 10 m in terrain II, whose own values begin the list."""
    mean = 25.167 * mean_ratio(height_m, law="en1991", exposure=terrain)
    factor = 2.352 * gust_ratio(height_m, law="en1991", exposure=terrain) ** 2
    check = f"terrain {terrain}, {height_m} m: mean at a basic speed of 25 m/s [m/s], exposure factor"
    stand(check, "EN 1991-1-4", expected=(mean_m_s, exposure), got=(mean, factor), within=0.002)
    assert (factor / (mean / 25) ** 2 - 1) / 7 == pytest.approx(turbulence, abs=2e-4)


@pytest.mark.parametrize("terrain", list(EN_TERRAIN))
def test_en_ratios_follow_its_equations_at_every_height(terrain):
    open_mean, _, open_exposure = en_1991(10, "II")
    for height_m in np.linspace(0, 200, 81):
        mean, _, exposure = en_1991(height_m, terrain)
        assert mean_ratio(height_m, law="en1991", exposure=terrain) == pytest.approx(
            mean / open_mean, rel=1e-12
        )
        assert gust_ratio(height_m, law="en1991", exposure=terrain) ** 2 == pytest.approx(
            exposure / open_exposure, rel=1e-12
        )


# ASCE/SEI 7-16, Table 26.10-1, K_z at 15, 30, 60, 100, 200 and 500 ft; constants read in a document, values
# recomputed.
ASCE_KZ = {
    "B": (0.575, 0.701, 0.854, 0.988, 1.205, 1.565),
    "C": (0.849, 0.982, 1.137, 1.266, 1.464, 1.776),
    "D": (1.030, 1.162, 1.311, 1.433, 1.616, 1.896),
}


@pytest.mark.parametrize(("exposure", "table"), list(ASCE_KZ.items()))
def test_asce_gusts_give_the_pressure_coefficients_of_the_standard(exposure, table, stand):
    heights_m = [feet * FOOT_M for feet in (15, 30, 60, 100, 200, 500)]
    open_field = 2.01 * (10 / (900 * FOOT_M)) ** (2 / 9.5)
    got = [open_field * gust_ratio(z, law="asce7", exposure=exposure) ** 2 for z in heights_m]
    check = f"pressure coefficients at 15, 30, 60, 100, 200 and 500 ft, exposure {exposure}"
    stand(check, "ASCE/SEI 7-16, Table 26.10-1", expected=table, got=got, within=0.001)


@pytest.mark.parametrize(("law", "exposure", "open_field"), [("en1991", "IV", "II"), ("asce7", "B", "C")])
def test_a_record_from_a_mast_is_first_taken_down_to_10_m_in_open_field(law, exposure, open_field):
    weather = Weather.model_construct(
        record_height_m=20, height_law=law, site_exposure=exposure, gust_exponent=None, mean_exponent=None
    )
    got = wind_ratio(weather, kind="gust", height_m=120)
    expected = gust_ratio(120, law=law, exposure=exposure) / gust_ratio(20, law=law, exposure=open_field)
    assert got == pytest.approx(expected, rel=1e-12)
    assert got < gust_ratio(120, law=law, exposure=exposure)


def weibull_hours(mean_m_s, *, shape, gust_factor=1.0):
    """A hundred years of hours that have exactly a Weibull law: its quantiles at even steps."""
    n = 100 * HOURS_A_YEAR
    scale_m_s = mean_m_s / math.gamma(1 + 1 / shape)
    speed_m_s = scale_m_s * (-np.log1p(-(np.arange(n) + 0.5) / n)) ** (1 / shape)
    return Hours(speed_m_s=speed_m_s, gust_m_s=gust_factor * speed_m_s)


def wind_limit(above_m_s, *, variable="mean", ratio=1.0):
    return HourLimit("lift", variable, above_m_s, None, ratio, 0, "wind")


@pytest.mark.parametrize(
    ("shape", "shares"),
    [
        (2.0, {9: 0.170820, 12.5: 0.033079, 16: 0.003754}),
        (1.6, {9: 0.200586, 12.5: 0.066047, 16: 0.017711}),
        (2.4, {9: 0.137842, 12.5: 0.012786, 16: 0.000377}),
    ],
)
def test_weibull_winds_of_6_m_s_stop_the_published_share_of_hours(shape, shares, stand):
    """scipy.stats.weibull_min; no chance in it, so right to the step of the quantiles, 1 in 876,000."""
    hours = weibull_hours(6, shape=shape)
    lost = {limit_m_s: float(stopped(hours, wind_limit(limit_m_s)).mean()) for limit_m_s in shares}
    check = f"hours above 9, 12.5 and 16 m/s, mean 6 m/s, Weibull shape {shape:g}"
    expected, found = list(shares.values()), list(lost.values())
    stand(check, "scipy.stats.weibull_min", expected=expected, got=found, within=2e-6)
    for limit_m_s, got in lost.items():
        exact = weibull_min.sf(limit_m_s, shape, scale=6 / math.gamma(1 + 1 / shape))
        assert got == pytest.approx(exact, abs=2e-6)


@pytest.mark.parametrize(("shape", "hours_a_year"), [(2.0, 1496.4), (1.6, 1757.1)])
def test_hours_a_year_above_9_m_s_are_the_published_ones(shape, hours_a_year):
    bad = stopped(weibull_hours(6, shape=shape), wind_limit(9))
    assert bad.sum() / 100 == pytest.approx(hours_a_year, abs=0.06)


def test_height_and_gusts_compound_and_data_of_10_m_hide_nearly_all_of_it(stand):
    """Mean 5 m/s at 10 m, Rayleigh, exponent 0.22, 200 m, gusts of 1.4: 0.7 % of the hours become 51 %."""
    hours = weibull_hours(5, shape=2, gust_factor=1.4)
    ratio = mean_ratio(200, law="power", exponent=0.22)
    shares = [
        stopped(hours, wind_limit(12.5)).mean(),
        stopped(hours, wind_limit(12.5, ratio=ratio)).mean(),
        stopped(hours, wind_limit(12.5, variable="gust", ratio=ratio)).mean(),
    ]
    assert 5 * ratio == pytest.approx(9.6649, abs=1e-4)
    check = "hours above 12.5 m/s: data of 10 m, at 200 m, gusts at 200 m"
    got = [float(share) for share in shares]
    stand(check, "Rayleigh law", expected=(0.00738, 0.26881, 0.51156), got=got, within=1e-5)


# Saffir-Simpson scale, one-minute means, National Hurricane Center 2012 (from memory): knots, miles an hour.
HURRICANES = {
    1: (64, 82, 74, 95),
    2: (83, 95, 96, 110),
    3: (96, 112, 111, 129),
    4: (113, 136, 130, 156),
    5: (137, 137, 157, 157),
}


@pytest.mark.parametrize("bounds", HURRICANES.values(), ids=[f"category {k}" for k in HURRICANES])
def test_knots_and_miles_an_hour_of_the_hurricane_scale_are_the_same_speeds(bounds):
    """The scale is printed in whole units both ways, so they agree to one mile an hour: checks our units."""
    for knots, miles in (bounds[::2], bounds[1::2]):
        assert knots * KNOT_M_S / MILE_PER_HOUR_M_S == pytest.approx(miles, abs=1)
    assert pytest.approx(0.514444, abs=1e-6) == KNOT_M_S
