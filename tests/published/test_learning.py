"""Learning: the unit (Crawford) curve, and that it is not the cumulative-average (Wright) curve.

Oracle: n^log2(p) and its sums, recomputed; equal to the table of learning-curve coefficients in J. Heizer &
B. Render, Operations Management, module E (from memory: .477/6.315, .583/7.116, .705/7.994 at unit 10). T. P.
Wright 1936, Factors affecting the cost of airplanes, Journal of the Aeronautical Sciences 3: 122-128 (from
memory).
"""

from math import log2

import pytest

from towerpace import Plan, Pool, Step
from towerpace.engine.reference import run
from towerpace.plan.site.numbers import unit_factor

FOREVER = 10_000
TABLE = {
    0.80: {
        2: (0.8000, 1.800),
        4: (0.6400, 3.142),
        10: (0.4765, 6.315),
        20: (0.3812, 10.485),
        50: (0.2838, 20.122),
        100: (0.2271, 32.651),
    },
    0.85: {10: (0.5828, 7.116), 20: (0.4954, 12.402)},
    0.90: {10: (0.7047, 7.994), 20: (0.6342, 14.608), 60: (0.5367, 37.574)},
    0.95: {60: (0.7386, 47.653)},
}


def test_unit_times_and_their_sums_are_as_tabled(stand):
    """To the digits of the table."""
    expected, got = [], []
    for rate, table in TABLE.items():
        for unit, (own, total) in table.items():
            factors = [unit_factor(n, rate=rate, plateau=FOREVER) for n in range(1, unit + 1)]
            assert factors[-1] == pytest.approx(own, abs=5.1e-5)
            assert sum(factors) == pytest.approx(total, abs=5.1e-4)
        expected.append(total)
        got.append(sum(factors))
    check = "100, 20, 60 and 60 units on unit curves of 80, 85, 90 and 95 %, in first units"
    stand(check, "Heizer & Render, module E", expected=expected, got=got, within=5.1e-4)


def test_units_after_the_plateau_take_as_long_as_the_plateau():
    """From unit 8 on at 80 %: 0.8^3 = 0.512."""
    assert [unit_factor(n, rate=0.8, plateau=8) for n in (8, 9, 500)] == pytest.approx([0.512] * 3)


@pytest.mark.parametrize(
    ("rate", "units", "total", "last"), [(0.80, 10, 4.765, 0.3286), (0.90, 50, 27.588, 0.4686)]
)
def test_unit_curve_is_not_the_cumulative_average_curve(rate, units, total, last):
    """Wright's total is n^(1 + b): far below the sum of the unit curve; the product says it uses the unit
    curve.
    """
    power = 1 + log2(rate)
    assert units**power == pytest.approx(total, abs=5.1e-4)
    assert units**power - (units - 1) ** power == pytest.approx(last, abs=5.1e-5)
    factors = [unit_factor(n, rate=rate, plateau=FOREVER) for n in range(1, units + 1)]
    assert sum(factors) > 1.15 * total
    assert factors[-1] > 1.15 * last
    assert "unit" in unit_factor.__doc__
    assert "not the cumulative average" in unit_factor.__doc__


def test_crew_that_learns_through_sixty_floors_takes_the_tabled_time(stand):
    """90 %, first floor 100,000 min, 60 floors: 37.574 first floors, within half a minute a floor."""
    first = 100_000
    steps = [
        Step(
            f"floor {n}",
            work=round(first * unit_factor(n, rate=0.9, plateau=FOREVER)),
            needs={"crew": 1},
            rank=n,
        )
        for n in range(1, 61)
    ]
    got = run(Plan(steps, pools=[Pool("crew", 1)])).finish / first
    check = "crew that learns at 90 % through 60 floors, played, in first floors"
    stand(check, "Heizer & Render, module E", expected=37.574, got=got, within=8e-4)
