"""Designs: grids are whole, Latin hypercubes have one point a slice, Sobol' points are balanced."""

from itertools import product

import numpy as np
import pytest

from towerpace.answers.sweep.design import Design
from towerpace.scenario.study import read_study

HEAD = """\
[study]
name = "Design"
scenario = "one.toml"
design = "{design}"
{points}
trials = 5
seed = 3
responses = ["finish.p80"]
"""
RANGES = """
[factor.wind]
key = "limit.lift.wind_above_m_s"
low = 6.0
high = 10.0
[factor.gangs]
key = "resource.gang.count"
low = 1
high = 4
integer = true
"""
CHOICES = """
[factor.gangs]
key = "resource.gang.count"
values = [1, 2, 4]
[factor.tower]
labels = ["low", "tall"]
replace = [{ "tower.levels" = "low.csv" }, { "tower.levels" = "tall.csv", "tower.horizon_days" = 900 }]
"""


def design(tmp_path, kind, factors, points=""):
    (tmp_path / "one.toml").write_text("", encoding="utf-8")
    path = tmp_path / "study.toml"
    path.write_text(HEAD.format(design=kind, points=points) + factors, encoding="utf-8")
    return Design(read_study(path))


def test_a_grid_has_every_combination_once_the_last_factor_fastest(tmp_path):
    made = list(design(tmp_path, "grid", CHOICES))
    assert [point.cells for point in made] == list(product((1, 2, 4), ("low", "tall")))
    assert [point.number for point in made] == [1, 2, 3, 4, 5, 6]
    assert made[3].changes == {
        "resource.gang.count": 2,
        "tower.levels": "tall.csv",
        "tower.horizon_days": 900,
    }
    assert made[3].named(("gangs", "tower")) == "point 4 (gangs=2, tower=tall)"


def test_a_latin_hypercube_has_one_point_in_every_slice(tmp_path):
    """McKay, Beckman & Conover (1979): n points, one in each of n slices of every factor (from memory)."""
    made = design(tmp_path, "latin", RANGES, "points = 20")
    wind = np.array([point.cells[0] for point in made])
    assert sorted(np.floor((wind - 6.0) / 4.0 * 20)) == list(range(20))
    # Of 20 points each of four whole numbers takes five slices.
    assert np.bincount([point.cells[1] for point in made]).tolist() == [0, 5, 5, 5, 5]


def test_sobol_points_are_balanced_in_every_pair_of_halves(tmp_path):
    """A (0, m, 2)-net in base 2: each quarter holds a quarter (Sobol' 1967, from memory).

    Scrambling keeps it so (Owen 1998, from memory).
    """
    made = design(tmp_path, "sobol", RANGES, "points = 16")
    wind = np.array([point.cells[0] for point in made]) > 8.0
    gangs = np.array([point.cells[1] for point in made]) > 2
    counts = [int(np.sum((wind == a) & (gangs == b))) for a, b in product((True, False), repeat=2)]
    assert counts == [4, 4, 4, 4]


@pytest.mark.parametrize("kind", ["latin", "sobol"])
def test_points_depend_on_the_seed_alone(tmp_path, kind):
    one, two = (list(design(tmp_path, kind, RANGES, "points = 8")) for _ in range(2))
    assert one == two


def test_choices_of_a_latin_design_come_equally_often(tmp_path):
    made = design(tmp_path, "latin", CHOICES, "points = 12")
    assert np.bincount([point.cells[0] for point in made]).tolist() == [0, 4, 4, 0, 4]


def test_a_list_gives_its_points_in_order(tmp_path):
    points = '[[point]]\ngangs = 4\ntower = "low"\n[[point]]\ngangs = 1\ntower = "tall"\n'
    made = list(design(tmp_path, "list", CHOICES + points))
    assert [point.cells for point in made] == [(4, "low"), (1, "tall")]
