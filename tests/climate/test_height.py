"""Height ratios against published tables and against closed forms worked by hand."""

import math
import re

import pytest

from towerpace.climate.height import Law, gust_ratio, mean_ratio, two_terrain_ratio

FOOT_M = 0.3048


@pytest.mark.parametrize(("height_m", "ratio"), [(19, 0.826745), (76, 1.070262), (152, 1.187469)])
def test_en_gusts_over_a_city_match_the_closed_form(height_m: float, ratio: float) -> None:
    """Worked by hand from c_r sqrt(1 + 7 I), terrain IV over 10 m in terrain II."""
    assert gust_ratio(height_m, law="en1991", exposure="IV") == pytest.approx(ratio, abs=1e-6)


@pytest.mark.parametrize(
    ("height_m", "gusts", "mean_en_iv", "mean_city"),
    [
        (19, [0.827, 0.955, 1.086, 0.929, 1.070, 1.152], 0.685, 0.554),
        (76, [1.070, 1.170, 1.269, 1.132, 1.238, 1.562], 1.008, 0.876),
        (152, [1.187, 1.275, 1.360, 1.250, 1.332, 1.820], 1.169, 1.101),
        (190, [1.225, 1.308, 1.389, 1.291, 1.363, 1.911], 1.221, 1.185),
    ],
)
def test_the_laws_match_a_table_computed_apart_from_this_code(
    height_m: float, gusts: list[float], mean_en_iv: float, mean_city: float
) -> None:
    """Levels 5, 20, 40, 50 of floors of 3.8 m; EN IV, III, II, ASCE B, C, (z/10)^0.22, to 3 decimals."""
    got = [
        *(gust_ratio(height_m, law="en1991", exposure=exposure) for exposure in ("IV", "III", "II")),
        *(gust_ratio(height_m, law="asce7", exposure=exposure) for exposure in ("B", "C")),
        gust_ratio(height_m, law="power", exponent=0.22),
    ]

    assert got == pytest.approx(gusts, abs=0.00051)
    assert mean_ratio(height_m, law="en1991", exposure="IV") == pytest.approx(mean_en_iv, abs=0.00051)
    assert two_terrain_ratio(height_m, layer_m=460, exponent=0.33) == pytest.approx(mean_city, abs=0.00051)


@pytest.mark.parametrize(
    ("exposure", "height_m", "mean_m_s", "exposure_factor"),
    [("II", 10, 25.167, 2.352), ("III", 100, 31.281, 3.452), ("IV", 200, 31.039, 3.578)],
)
def test_en_matches_mean_speed_and_exposure_factor_of_the_standard(
    exposure: str, height_m: float, mean_m_s: float, exposure_factor: float
) -> None:
    """EN 1991-1-4 equations 4.3 to 4.8 at v_b = 25 m/s; at 10 m in II: v_m 25.167 m/s, c_e 2.352."""
    mean = 25.167 * mean_ratio(height_m, law="en1991", exposure=exposure)
    factor = 2.352 * gust_ratio(height_m, law="en1991", exposure=exposure) ** 2

    assert mean == pytest.approx(mean_m_s, rel=1e-4)
    assert factor == pytest.approx(exposure_factor, rel=5e-4)


@pytest.mark.parametrize(
    ("exposure", "table"),
    [
        ("B", [0.575, 0.701, 0.854, 0.988, 1.205, 1.565]),
        ("C", [0.849, 0.982, 1.137, 1.266, 1.464, 1.776]),
        ("D", [1.030, 1.162, 1.311, 1.433, 1.616, 1.896]),
    ],
)
def test_asce_matches_the_pressure_coefficients_of_the_standard(exposure: str, table: list[float]) -> None:
    """ASCE/SEI 7-16, Table 26.10-1: K_z at 15, 30, 60, 100, 200 and 500 ft, three decimals."""
    open_field = 2.01 * (10 / 274.32) ** (2 / 9.5)
    got = [
        open_field * gust_ratio(feet * FOOT_M, law="asce7", exposure=exposure) ** 2
        for feet in (15, 30, 60, 100, 200, 500)
    ]

    assert got == pytest.approx(table, abs=0.001)


@pytest.mark.parametrize(
    ("exposure", "height_m", "speed_m_s"), [("III", 100, 13.2532), ("III", 300, None), ("IV", 200, 18.4082)]
)
def test_en_means_in_one_terrain_follow_the_log_law(
    exposure: str, height_m: float, speed_m_s: float | None
) -> None:
    """8 m/s at 10 m, z0 = 0.3 and 1.0 m: windpowerlib's logarithmic profile gives 13.25321 for the first."""
    if speed_m_s is None:
        with pytest.raises(ValueError, match="300 m is above the 200 m at which EN 1991-1-4 stops"):
            mean_ratio(height_m, law="en1991", exposure=exposure)
        return
    above, at_10_m = (mean_ratio(z, law="en1991", exposure=exposure) for z in (height_m, 10))

    assert 8 * above / at_10_m == pytest.approx(speed_m_s, abs=1e-4)


@pytest.mark.parametrize(
    ("exponent", "height_m", "speed_m_s"), [(1 / 7, 100, 11.1160), (0.22, 200, 15.4638), (0.33, 300, 24.5776)]
)
def test_the_power_law_matches_published_speeds(exponent: float, height_m: float, speed_m_s: float) -> None:
    """8 m/s at 10 m; windpowerlib's Hellmann profile gives 11.11596 for the first."""
    assert 8 * mean_ratio(height_m, law="power", exponent=exponent) == pytest.approx(speed_m_s, abs=1e-4)
    assert gust_ratio(152, law="power", exponent=0.14) == pytest.approx(1.463720, abs=1e-6)


def test_one_seventh_matches_the_height_table_of_the_crane_note() -> None:
    """Construction Plant-hire Association, Technical Information Note 101 (2009), page 2, open country."""
    multipliers = [1.00, 1.10, 1.17, 1.22, 1.26, 1.29, 1.32, 1.35, 1.37, 1.39, 1.47]
    heights_m = [*range(10, 101, 10), 150]

    got = [gust_ratio(height_m, law="power", exponent=1 / 7) for height_m in heights_m]

    assert got == pytest.approx(multipliers, abs=0.0055)


@pytest.mark.parametrize(("exposure", "ratio"), [("B", 1.190), ("C", 1.380), ("D", 1.473)])
def test_asce_means_follow_the_two_terrain_law(exposure: str, ratio: float) -> None:
    """At 100 m, worked by hand: 27^0.14 = 1.5863 times (100/370)^0.22, (100/270)^0.14, (100/210)^0.10."""
    assert mean_ratio(100, law="asce7", exposure=exposure) == pytest.approx(ratio, abs=0.001)


@pytest.mark.parametrize(("law", "exposure"), [("en1991", "II"), ("asce7", "C")])
def test_ten_metres_in_open_field_is_the_station_itself(law: Law, exposure: str) -> None:
    assert gust_ratio(10, law=law, exposure=exposure) == pytest.approx(1)
    assert mean_ratio(10, law=law, exposure=exposure) == pytest.approx(1)


@pytest.mark.parametrize(
    ("law", "exposure", "lowest_m"),
    [
        ("en1991", "0", 1),
        ("en1991", "I", 1),
        ("en1991", "II", 2),
        ("en1991", "III", 5),
        ("en1991", "IV", 10),
        ("asce7", "B", 4.57),
        ("asce7", "C", 4.57),
        ("asce7", "D", 4.57),
    ],
)
def test_the_ratio_is_constant_below_the_least_height_and_rises_above_it(
    law: Law, exposure: str, lowest_m: float
) -> None:
    for ratio in (gust_ratio, mean_ratio):
        assert ratio(0, law=law, exposure=exposure) == ratio(lowest_m, law=law, exposure=exposure)
        assert ratio(lowest_m * 1.01, law=law, exposure=exposure) > ratio(0, law=law, exposure=exposure)


def test_the_power_law_never_says_that_there_is_no_wind_at_the_ground() -> None:
    assert gust_ratio(0, law="power", exponent=0.08) == pytest.approx((4.57 / 10) ** 0.08)


@pytest.mark.parametrize(
    ("height_m", "law", "exposure", "exponent", "text"),
    [
        (
            201,
            "en1991",
            "IV",
            None,
            "201 m is above the 200 m at which EN 1991-1-4 stops; use another height law",
        ),
        (
            214,
            "asce7",
            "D",
            None,
            "214 m is above the gradient height of exposure D, 213.36 m, at which ASCE 7-16 stops; "
            "use another height law",
        ),
        (-1, "en1991", "II", None, "the height must be at least 0 m, got -1 m"),
        (math.nan, "power", None, 0.1, "the height must be at least 0 m, got nan m"),
        (10, "en1991", "B", None, "the exposure must be one of 0, I, II, III, IV for en1991, got 'B'"),
        (10, "asce7", None, None, "the exposure must be one of B, C, D for asce7, got None"),
        (10, "asce7", "B", 0.1, "the law asce7 takes an exposure, not an exponent"),
        (10, "power", "II", 0.1, "the power law takes an exponent, not an exposure"),
        (10, "power", None, None, "the power law needs an exponent from 0 to 1, got None"),
        (10, "power", None, 1.4, "the power law needs an exponent from 0 to 1, got 1.4"),
        (10, "log", None, None, "the height law must be en1991, asce7 or power, got 'log'"),
    ],
)
def test_what_a_law_does_not_cover_is_refused(
    height_m: float, law: Law, exposure: str | None, exponent: float | None, text: str
) -> None:
    for ratio in (gust_ratio, mean_ratio):
        with pytest.raises(ValueError, match=f"^{re.escape(text)}$"):
            ratio(height_m, law=law, exposure=exposure, exponent=exponent)
