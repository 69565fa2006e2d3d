"""Strength of young concrete by age and temperature: when a gate such as "75 % before steel" may open.

The curves are for planning a date. Whether the concrete is there is shown by tests on the site.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, inf, log, sqrt
from typing import Literal

Cement = Literal["I", "III"]

# ACI 209R-92, moist-cured: a [d] and beta [-] of ordinary and of rapid hardening cement (from memory).
ACI_209: dict[Cement, tuple[float, float]] = {"I": (4.0, 0.85), "III": (2.3, 0.92)}
EN_FULL_AGE_D = 28.0
# ASTM C1074 works in degC + 273, and its worked figures follow from that, not from 273.15 (from memory).
KELVIN_OFFSET = 273.0


def strength_share_aci209(days: float, cement: Cement = "I") -> float:
    """Compressive strength at an age over the strength at 28 days, moist-cured near 21 degC. [-]

    days : age, >= 0. [d]  cement : "I" ordinary or "III" rapid hardening.

    Raises `ValueError` for a negative age or another cement.

    Notes
    -----
    t / (a + beta t), ACI 209R-92 (from memory). Fitted apart from the age of 28 days, where it gives 1.007.

    >>> round(strength_share_aci209(7), 4)
    0.7035
    """
    a_d, beta = _aci(cement)
    return _age(days) / (a_d + beta * days)


def strength_share_en1992(days: float, s: float) -> float:
    """Mean compressive strength at an age over that at 28 days, at 20 degC. [-]

    days : age, >= 0. [d]  s : 0.20 rapid, 0.25 normal, 0.38 slow cement. [-]

    Raises `ValueError` for a negative age or an s that is not above 0.

    Notes
    -----
    exp(s (1 - sqrt(28 / t))), EN 1992-1-1:2004, equation 3.2 (from memory).

    >>> round(strength_share_en1992(7, 0.25), 4)
    0.7788
    """
    _age(days)
    _s(s)
    return exp(s * (1 - sqrt(EN_FULL_AGE_D / days))) if days > 0 else 0.0


def days_to_share(share: float, *, cement: Cement | None = None, s: float | None = None) -> float:
    """Age at which concrete reaches a share of its 28-day strength. [d]

    share : above 0. [-]  cement : asks for the ACI 209 curve. s : asks for the EN 1992 curve; one of the two.

    Raises `ValueError` for a share that the curve never reaches, or unless exactly one curve is asked for.

    >>> round(days_to_share(0.75, cement="I"), 3)
    8.276
    """
    if (cement is None) == (s is None):
        raise ValueError(f"exactly one of cement and s must be given, got {cement!r} and {s}")
    highest = 1 / _aci(cement)[1] if cement is not None else exp(_s(s or 0.0))
    if not 0 < share < highest:
        raise ValueError(
            f"share: must be > 0 and below {highest:.4g}, which the curve never reaches, got {share}"
        )
    if cement is not None:
        a_d, beta = _aci(cement)
        return a_d * share / (1 - beta * share)
    return EN_FULL_AGE_D / (1 - log(share) / _s(s or 0.0)) ** 2


def equivalent_age_factor(temperature_c: float, *, q_k: float = 5000.0, reference_c: float = 20.0) -> float:
    """How much faster concrete ages at a temperature than at the reference temperature. [-]

    temperature_c : of the concrete. [degC]  q_k : activation energy over the gas constant. [K]
    reference_c : temperature at which the factor is 1. [degC]

    Raises `ValueError` for a temperature at or below absolute zero or a q_k that is not above 0.

    Notes
    -----
    exp(-Q (1/T - 1/T_ref)) with T in kelvin: the Arrhenius form of ASTM C1074, where Q = 5000 K is the
    default for ordinary cement without admixtures and heat is counted from 20 or 23 degC (from memory).
    Equivalent age is the sum of factor x time.

    >>> round(equivalent_age_factor(10), 4)
    0.5472
    """
    kelvin, reference_k = temperature_c + KELVIN_OFFSET, reference_c + KELVIN_OFFSET
    if not min(kelvin, reference_k) > 0 or not 0 < q_k < inf:
        raise ValueError(
            f"need temperatures above -273 degC and q_k > 0, got {temperature_c}, {reference_c}, {q_k}"
        )
    return exp(-q_k * (1 / kelvin - 1 / reference_k))


def maturity_nurse_saul(temperatures_c: Sequence[float], hours: Sequence[float], *, datum_c: float) -> float:
    """Temperature-time factor of a curing history. [degC h]

    temperatures_c : mean temperature of the concrete in each spell. [degC]  hours : length of each. [h]
    datum_c : temperature at which hardening stops; 0 or -10 are in use, so none is assumed. [degC]

    Raises `ValueError` for spells of different number or a negative length.

    Notes
    -----
    Sum of (T - T_0) x time, where spells below T_0 add nothing: Nurse 1949, Saul 1951; ASTM C1074, equation 1
    (from memory).

    >>> maturity_nurse_saul([10, 15], [72, 96], datum_c=0)
    2160.0
    """
    if len(temperatures_c) != len(hours):
        raise ValueError(f"need as many temperatures as hours, got {len(temperatures_c)} and {len(hours)}")
    if not all(h >= 0 for h in hours):
        raise ValueError(f"hours: must be >= 0 h, got {min(hours)}")
    return float(sum(max(t - datum_c, 0.0) * h for t, h in zip(temperatures_c, hours, strict=True)))


def _aci(cement: Cement) -> tuple[float, float]:
    if cement not in ACI_209:
        raise ValueError(f"cement: must be one of {', '.join(ACI_209)}, got {cement!r}")
    return ACI_209[cement]


def _age(days: float) -> float:
    if not days >= 0:
        raise ValueError(f"days: must be >= 0 d, got {days}")
    return days


def _s(s: float) -> float:
    if not s > 0:
        raise ValueError(f"s: must be > 0, got {s}")
    return s
