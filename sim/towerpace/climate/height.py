"""Wind at a working height against the wind of the weather station at 10 m in open field, as a ratio.

Gusts and means climb differently: over a city the mean grows fast with height, the gust slowly, because
turbulence fades as the mean rises. So a limit on gusts takes `gust_ratio`, a limit on means `mean_ratio`,
and there is no default of either. All laws hold for neutral, strong wind over one uniform terrain; local
flow round the tower and its neighbours is in none of them.
"""

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

Law = Literal["en1991", "asce7", "power"]

STATION_HEIGHT_M = 10.0

# EN 1991-1-4:2005, Table 4.1: roughness length z0 [m], least height z_min [m].
EN_TERRAIN: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"0": (0.003, 1.0), "I": (0.01, 1.0), "II": (0.05, 2.0), "III": (0.3, 5.0), "IV": (1.0, 10.0)}
)
EN_HIGHEST_M = 200.0
# ASCE/SEI 7-16, Table 26.11-1: exponent alpha [-], gradient height zg [m] (1200, 900 and 700 ft).
ASCE_TERRAIN: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"B": (7.0, 365.76), "C": (9.5, 274.32), "D": (11.5, 213.36)}
)
ASCE_LOWEST_M = 4.57
# ASHRAE Handbook of Fundamentals, wind on buildings, as in the EnergyPlus Engineering Reference (outdoor
# air by height): layer thickness [m], exponent [-] of suburb, open field and water, whose descriptions are
# those of the ASCE exposures B, C and D. The handbook itself
# was not at hand; the numbers agree with other public code that states the same table.
ASHRAE_TERRAIN: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"B": (370.0, 0.22), "C": (270.0, 0.14), "D": (210.0, 0.10)}
)


def gust_ratio(
    height_m: float, *, law: Law, exposure: str | None = None, exponent: float | None = None
) -> float:
    """Gust at a height on the site over the gust at 10 m in open field. [-]

    Parameters
    ----------
    height_m
        Height above ground on the site. [m]
    law
        "en1991", "asce7" or "power".
    exposure
        Terrain of the site: "0", "I", "II", "III" or "IV" for en1991, "B", "C" or "D" for asce7.
    exponent
        Exponent for gusts, for the power law alone. [-]

    Raises
    ------
    ValueError
        If a height is negative or above what the law covers, the law or the exposure is unknown, or an
        argument belongs to another law.

    Notes
    -----
    en1991: root of the ratio of peak velocity pressures, c_r sqrt(1 + 7 I), at z on the site and at 10 m
    in terrain II; c_r = 0.19 (z0/0.05)^0.07 ln(z/z0), I = 1/ln(z/z0); flat ground, k_I = 1
    (EN 1991-1-4:2005, equations 4.3 to 4.8).
    asce7: root of the ratio of K = 2.01 (z/zg)^(2/alpha) at z on the site and at 10 m in exposure C
    (ASCE/SEI 7-16, Table 26.10-1, note 1).
    power: (z/10)^exponent.

    Examples
    --------
    >>> round(gust_ratio(152, law="en1991", exposure="IV"), 4)
    1.1875
    """
    _check(height_m, law=law, exposure=exposure, exponent=exponent)
    if law == "en1991":
        return _en_gust(height_m, terrain=str(exposure)) / _en_gust(STATION_HEIGHT_M, terrain="II")
    if law == "asce7":
        pressure = _asce_pressure(height_m, terrain=str(exposure)) / _asce_pressure(
            STATION_HEIGHT_M, terrain="C"
        )
        return math.sqrt(pressure)
    return _power(height_m, exponent=exponent)


def mean_ratio(
    height_m: float, *, law: Law, exposure: str | None = None, exponent: float | None = None
) -> float:
    """Mean wind at a height on the site over the mean at 10 m in open field. [-]

    Parameters and faults are those of `gust_ratio`; the exponent is that of means.

    Notes
    -----
    en1991: c_r(z; site) / c_r(10; terrain II), equations 4.3 to 4.5. asce7 has no law for means, so the
    two-terrain law of ASHRAE stands in for it, see `two_terrain_ratio`. power: (z/10)^exponent.
    """
    _check(height_m, law=law, exposure=exposure, exponent=exponent)
    if law == "en1991":
        return _en_mean(height_m, terrain=str(exposure)) / _en_mean(STATION_HEIGHT_M, terrain="II")
    if law == "asce7":
        layer_m, terrain_exponent = ASHRAE_TERRAIN[str(exposure)]
        return two_terrain_ratio(height_m, layer_m=layer_m, exponent=terrain_exponent)
    return _power(height_m, exponent=exponent)


def two_terrain_ratio(height_m: float, *, layer_m: float, exponent: float) -> float:
    """Mean wind at a height in one terrain over the mean at 10 m in open field. [-]

    Parameters
    ----------
    height_m
        Height above ground on the site, at most the layer. [m]
    layer_m
        Thickness of the boundary layer over the site's terrain. [m]
    exponent
        Exponent of the site's terrain. [-]

    Raises
    ------
    ValueError
        If the height is negative or above the layer.

    Notes
    -----
    (270/10)^0.14 (z/layer)^exponent: up to the wind above the open field, down again over the site.
    Constant below 4.57 m, as in ASCE 7, since a power law says that there is no wind at the ground.
    """
    open_layer_m, open_exponent = ASHRAE_TERRAIN["C"]
    _check_height(height_m, highest_m=layer_m, what=f"the boundary layer of {layer_m:g} m")
    aloft = (open_layer_m / STATION_HEIGHT_M) ** open_exponent
    return float(aloft * (max(height_m, ASCE_LOWEST_M) / layer_m) ** exponent)


def _en_mean(height_m: float, *, terrain: str) -> float:
    z0_m, z_min_m = EN_TERRAIN[terrain]
    return float(0.19 * (z0_m / 0.05) ** 0.07 * math.log(max(height_m, z_min_m) / z0_m))


def _en_gust(height_m: float, *, terrain: str) -> float:
    z0_m, z_min_m = EN_TERRAIN[terrain]
    turbulence = 1 / math.log(max(height_m, z_min_m) / z0_m)
    return _en_mean(height_m, terrain=terrain) * math.sqrt(1 + 7 * turbulence)


def _asce_pressure(height_m: float, *, terrain: str) -> float:
    alpha, gradient_m = ASCE_TERRAIN[terrain]
    return float(2.01 * (max(height_m, ASCE_LOWEST_M) / gradient_m) ** (2 / alpha))


def _power(height_m: float, *, exponent: float | None) -> float:
    # Held below 4.57 m like the others: to zero at the ground, it would let work go on in any storm.
    return float((max(height_m, ASCE_LOWEST_M) / STATION_HEIGHT_M) ** (exponent or 0.0))


def _check(height_m: float, *, law: str, exposure: str | None, exponent: float | None) -> None:
    terrains = {"en1991": EN_TERRAIN, "asce7": ASCE_TERRAIN, "power": {}}
    if law not in terrains:
        raise ValueError(f"the height law must be en1991, asce7 or power, got {law!r}")
    if law == "power":
        _check_power(exposure=exposure, exponent=exponent)
        _check_height(height_m, highest_m=math.inf, what="")
        return
    if exponent is not None:
        raise ValueError(f"the law {law} takes an exposure, not an exponent")
    if exposure not in terrains[law]:
        raise ValueError(
            f"the exposure must be one of {', '.join(terrains[law])} for {law}, got {exposure!r}"
        )
    if law == "en1991":
        _check_height(height_m, highest_m=EN_HIGHEST_M, what="the 200 m at which EN 1991-1-4 stops")
    else:
        gradient_m = ASCE_TERRAIN[str(exposure)][1]
        what = f"the gradient height of exposure {exposure}, {gradient_m:g} m, at which ASCE 7-16 stops"
        _check_height(height_m, highest_m=gradient_m, what=what)


def _check_power(*, exposure: str | None, exponent: float | None) -> None:
    if exposure is not None:
        raise ValueError("the power law takes an exponent, not an exposure")
    if exponent is None or not 0 <= exponent <= 1:
        raise ValueError(f"the power law needs an exponent from 0 to 1, got {exponent}")


def _check_height(height_m: float, *, highest_m: float, what: str) -> None:
    if not height_m >= 0:
        raise ValueError(f"the height must be at least 0 m, got {height_m} m")
    if height_m > highest_m:
        raise ValueError(f"{height_m:g} m is above {what}; use another height law")
