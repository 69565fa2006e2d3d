"""The wind limit of a load with a sail, against worked examples.

Oracle: the convention of 1.2 m2 of effective area a tonne, v = v_chart sqrt(1.2 m / (c A)) (EN 13000, FEM
5.016, from memory), with a worked example of an equipment manual that was read: 2 t, 9 m2, c = 1 give a
factor of 0.5.
"""

import pytest

from towerpace.scenario.sail import derated_limit_m_s


def test_panels_at_a_chart_of_9_8_m_s_have_the_published_limits(stand):
    """The last two are heavy for their face: the chart's own limit stays."""
    panels = [(6, 450), (12, 1200), (3, 4000), (5, 5000)]
    got = [derated_limit_m_s(9.8, mass_kg=mass_kg, area_m2=area_m2) for area_m2, mass_kg in panels]
    check = "6 m2 of 450 kg, 12 of 1200, 3 of 4000, 5 of 5000 at a chart of 9.8 m/s [m/s]"
    stand(check, "EN 13000, FEM 5.016", expected=(2.684, 3.099, 9.8, 9.8), got=got, within=5e-4)


@pytest.mark.parametrize(("chart_km_h", "printed_km_h"), [(36, 18), (50, 25)])
def test_the_manuals_example_halves_the_chart(chart_km_h, printed_km_h):
    """The exact factor is sqrt(2.4 / 9) = 0.516, which the manual rounds down to 0.5."""
    got_km_h = 3.6 * derated_limit_m_s(chart_km_h / 3.6, mass_kg=2000, area_m2=9, drag=1)
    assert got_km_h / chart_km_h == pytest.approx(0.5164, abs=5e-5)
    assert got_km_h == pytest.approx(printed_km_h, rel=0.04)


def test_at_the_limit_the_wind_pulls_as_hard_as_the_chart_assumes():
    """Force = q c A with q = 0.6125 v^2: the panel at its limit against 1.2 m2 a tonne at the chart's."""
    for mass_kg, area_m2, drag in [(450, 6, 1.2), (1200, 12, 1.4), (300, 20, 2.0)]:
        limit = derated_limit_m_s(9.8, mass_kg=mass_kg, area_m2=area_m2, drag=drag)
        assumed_n = 0.6125 * 9.8**2 * 1.2 * mass_kg / 1000
        assert 0.6125 * limit**2 * drag * area_m2 == pytest.approx(assumed_n, rel=1e-12)


@pytest.mark.parametrize("word", ["chart_m_s", "mass_kg", "area_m2", "drag"])
@pytest.mark.parametrize("value", [0, -1, float("nan")])
def test_numbers_that_are_not_above_zero_are_refused(word, value):
    words = {"chart_m_s": 9.8, "mass_kg": 450, "area_m2": 6, "drag": 1.2} | {word: value}
    with pytest.raises(ValueError, match=f"{word}: must be > 0, got"):
        derated_limit_m_s(words.pop("chart_m_s"), **words)
