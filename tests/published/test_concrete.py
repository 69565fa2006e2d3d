"""Strength and maturity of young concrete against the values that its published curves give.

Oracles: ACI 209R-92; EN 1992-1-1:2004, section 3.1.2; ASTM C1074 (Arrhenius form and Nurse-Saul). The
constants are from memory, the values were recomputed apart from this code; the inverse is checked by a root
finder.
"""

import pytest
from scipy.optimize import brentq

from towerpace import After, Plan, Step
from towerpace.engine.reference import run
from towerpace.plan.site.concrete import (
    days_to_share,
    equivalent_age_factor,
    maturity_nurse_saul,
    strength_share_aci209,
    strength_share_en1992,
)


@pytest.mark.parametrize(
    ("cement", "shares"),
    [
        ("I", {1: 0.2062, 3: 0.4580, 7: 0.7035, 14: 0.8805, 28: 1.0072}),
        ("III", {3: 0.5929, 7: 0.8009}),
    ],
)
def test_aci_209_gives_the_published_shares(cement, shares, stand):
    got = [strength_share_aci209(days, cement) for days in shares]
    check = f"share of the strength after {', '.join(map(str, shares))} d, cement {cement}"
    stand(check, "ACI 209R-92", expected=list(shares.values()), got=got, within=5e-5)


def test_en_1992_gives_the_published_shares_of_normal_cement(stand):
    got = [strength_share_en1992(days, 0.25) for days in (3, 7, 28)]
    check = "share of the strength after 3, 7 and 28 d, normal cement"
    stand(check, "EN 1992-1-1", expected=(0.5982, 0.7788, 1.0), got=got, within=5e-5)


def test_three_quarters_of_the_strength_are_there_after_8_276_days():
    assert days_to_share(0.75, cement="I") == pytest.approx(8.276, abs=5e-4)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.75, 0.9, 1.0])
@pytest.mark.parametrize("curve", [{"cement": "I"}, {"cement": "III"}, {"s": 0.2}, {"s": 0.25}, {"s": 0.38}])
def test_the_age_of_a_share_is_the_root_of_its_curve(share, curve):
    strength = strength_share_aci209 if "cement" in curve else strength_share_en1992

    def short(days):
        return strength(days, **curve) - share

    assert days_to_share(share, **curve) == pytest.approx(brentq(short, 1e-6, 1e4, xtol=1e-10), rel=1e-6)


@pytest.mark.parametrize(
    ("temperature_c", "factor"), [(0, 0.2865), (5, 0.3982), (10, 0.5472), (20, 1.0), (30, 1.7563)]
)
def test_concrete_ages_by_the_published_factors(temperature_c, factor):
    """Q = 5000 K, 20 degC."""
    assert equivalent_age_factor(temperature_c) == pytest.approx(factor, abs=5e-5)


def test_seven_cool_days_come_to_2160_degree_hours(stand):
    """3 d at 10 degC and 4 d at 15 degC over a datum of 0 degC; frost below the datum takes nothing back."""
    got = float(maturity_nurse_saul([10, 15], [72, 96], datum_c=0))
    stand("3 d at 10 degC and 4 d at 15 degC [degC h]", "ASTM C1074, Nurse-Saul", expected=2160, got=got)
    assert maturity_nurse_saul([10, 15, -5], [72, 96, 100], datum_c=0) == 2160
    assert maturity_nurse_saul([10, 15], [72, 96], datum_c=-10) == 72 * 20 + 96 * 25


def test_the_crown_waits_for_its_concrete(stand):
    """A pour, the age of 75 % as a lag, then steel: 8.276 d, rounded to the minute."""
    gate_min = round(days_to_share(0.75, cement="I") * 1440)
    plan = Plan([Step("pour", work=480), Step("steel", work=60, after=[After("pour", gate_min)])])
    got = (run(plan).started_at("steel") - 480) / 1440
    check = "steel waits for 75 % of the strength, played [d]"
    stand(check, "ACI 209R-92", expected=8.276, got=got, within=5e-4)


def test_a_young_pour_has_no_strength():
    assert strength_share_aci209(0) == 0
    assert strength_share_en1992(0, 0.25) == 0
    assert strength_share_en1992(1e-3, 0.25) < 1e-15


@pytest.mark.parametrize(
    ("ask", "text"),
    [
        (lambda: strength_share_aci209(-1), "days: must be >= 0 d, got -1"),
        (lambda: strength_share_aci209(1, "II"), "cement: must be one of I, III, got 'II'"),
        (lambda: strength_share_en1992(-1, 0.25), "days: must be >= 0 d, got -1"),
        (lambda: strength_share_en1992(1, 0), "s: must be > 0, got 0"),
        (lambda: days_to_share(1.18, cement="I"), "below 1.176, which the curve never reaches, got 1.18"),
        (lambda: days_to_share(0, s=0.25), "share: must be > 0 and below 1.284"),
        (lambda: days_to_share(0.5), "exactly one of cement and s must be given, got None and None"),
        (lambda: days_to_share(0.5, cement="I", s=0.2), "exactly one of cement and s must be given"),
        (lambda: equivalent_age_factor(-300), "need temperatures above -273 degC"),
        (lambda: equivalent_age_factor(20, q_k=0), "q_k > 0"),
        (
            lambda: maturity_nurse_saul([10], [1, 2], datum_c=0),
            "need as many temperatures as hours, got 1 and 2",
        ),
        (lambda: maturity_nurse_saul([10], [-1], datum_c=0), "hours: must be >= 0 h, got -1"),
    ],
)
def test_what_cannot_be_is_refused(ask, text):
    with pytest.raises(ValueError, match=text):
        ask()
