"""Which set-up is said to meet a date: what the trials show, and not what they happen to reach."""

import datetime as dt

import numpy as np
import pytest

from support.short_tower import write_short_tower
from towerpace.answers.choice.lab import Lab
from towerpace.answers.choice.target import Tried, chosen, reach, trials_to_show
from towerpace.answers.choice.target_said import said
from towerpace.answers.estimates import chance
from towerpace.scenario import load


def tried(met, *, of):
    """A set-up that met the date in so many of so many trials."""
    return Tried(None, {}, None, None, chance(np.arange(of) < met), of)


@pytest.mark.parametrize(
    ("met", "shown", "likely"),
    [
        ([150, 164, 181, 190], 2, 1),  # 82 % of 200 is shown to lie above 76 % only, 90.5 % above 85 %
        ([150, 181, 164], 1, None),  # what is dearer than the one shown is of no interest
        ([150, 164], None, 1),
        ([150, 155], None, None),
    ],
)
def test_the_lower_end_of_the_interval_decides(met, shown, likely):
    grid = [tried(k, of=200) for k in met]
    expected = tuple(None if place is None else grid[place] for place in (shown, likely))
    assert chosen(grid, confidence=0.8) == expected


@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.9, 0.95, 0.999])
def test_so_many_trials_can_show_a_confidence_and_one_fewer_cannot(confidence):
    n = trials_to_show(confidence)
    assert chance(np.ones(n, dtype=bool)).low >= confidence
    assert chance(np.ones(n - 1, dtype=bool)).low < confidence


def test_of_many_set_ups_just_below_the_border_one_is_seldom_said_to_meet_it():
    """Truth: each of ten meets the date in 77 % of the trials; by the share alone 80 % are often reached."""
    rng = np.random.Generator(np.random.PCG64(7))
    wrong, by_share = 0, 0
    for _ in range(200):
        common, own = rng.standard_normal(200), rng.standard_normal((10, 200))
        late = 0.8 * common + 0.6 * own > 0.7388  # the 77 % point of the normal law
        grid = [Tried(None, {}, None, None, chance(~row), 200) for row in late]
        shown, likely = chosen(grid, confidence=0.8)
        wrong += shown is not None
        by_share += shown is not None or likely is not None
    assert wrong <= 4
    assert by_share > 60


@pytest.fixture(scope="module")
def ask(tmp_path_factory):
    """What is said of a date and a confidence, after 20 trials of each set-up."""
    scenario = load(write_short_tower(tmp_path_factory.mktemp("short"), levels=3))
    lab = Lab(3)

    def sentence(date, confidence):
        reached = reach(scenario, lab=lab, seed=3, date=date, confidence=confidence, trials=20)
        return said(reached).said

    return sentence


def test_a_date_that_is_shown_to_be_met_names_the_set_up(ask):
    sentence = ask(dt.date(2027, 3, 16), 0.7)
    assert "that is shown to do so is: " in sentence
    assert "the least" not in sentence


def test_too_few_trials_say_how_many_could_show_it(ask):
    """20 of 20 have their lower end at 83 %, so that they cannot show 95 %; 72 of 72 can."""
    sentence = ask(dt.date(2027, 3, 16), 0.95)
    assert "is shown to do so. The cheapest that may do is " in sentence
    assert sentence.endswith("It takes 72 trials of each at the least to show it.")


def test_a_date_out_of_reach_is_said_to_be_so(ask):
    assert "not reachable by adding up to 2 each of" in ask(dt.date(2027, 3, 11), 0.8)
