"""What knowing is worth: handbook values, cases by hand, and a site on which one risk decides."""

from datetime import date
from pathlib import Path
from shutil import copytree

import numpy as np
import pytest

from towerpace import InputError, know, load
from towerpace.answers.know.value import of_everything, terms_of, terms_together, worth

ONE_TRADE = Path(__file__).parents[2] / "scenarios" / "one_trade"

# Unit normal linear loss integral L(z) = phi(z) - z (1 - Phi(z)): H. Raiffa & R. Schlaifer (1961), Applied
# Statistical Decision Theory, table II (values from memory, equal to the formula to four figures). With two
# choices whose difference of loss is a + b X, X standard normal, knowing X is worth |b| L(|a / b|).
LINEAR_LOSS = {0.0: 0.3989, 0.5: 0.1978, 1.0: 0.08332}


def two_choices(z, *, noise, seed, n=2000):
    """X, and losses of two choices of which the second loses z + X more, both under much common noise."""
    rng = np.random.default_rng(seed)
    known = rng.normal(size=n)
    common = 20 * rng.normal(size=n)
    return known, np.column_stack((common, common + z + known + noise * rng.normal(size=n)))


@pytest.mark.parametrize(("z", "expected"), LINEAR_LOSS.items())
@pytest.mark.parametrize("noise", [0.2, 2.0])
def test_two_choices_and_a_normal_number_are_worth_what_the_table_says(z, expected, noise):
    known, losses = two_choices(z, noise=noise, seed=7)
    told = worth(losses, terms_of(known, losses), rng=np.random.default_rng(1))
    assert told.value == pytest.approx(expected, abs=3 * (told.high - told.low) / 4 + 0.002)
    assert told.high - told.low < 0.25
    assert told.shown > 2 * told.shown_error


def test_intervals_hold_the_table_in_about_nineteen_of_twenty_cases():
    held = 0
    for seed in range(60):
        known, losses = two_choices(1.0, noise=1.0, seed=seed, n=400)
        told = worth(losses, terms_of(known, losses), rng=np.random.default_rng(seed))
        held += told.low <= LINEAR_LOSS[1.0] <= told.high
    assert held >= 52  # 57 expected; 51 or fewer in under 1 % of such campaigns


def test_a_number_without_effect_is_worth_nothing_and_is_not_shown():
    rng = np.random.default_rng(3)
    shown = 0
    for _ in range(40):
        losses = np.column_stack((np.zeros(200), 0.3 + rng.normal(size=200)))
        told = worth(losses, terms_of(rng.normal(size=200), losses), rng=rng)
        assert told.value < 0.1
        shown += told.shown > 1.645 * told.shown_error > 0
    assert shown <= 5


def test_a_number_of_few_values_by_hand():
    """Half the trials: choice 1 saves 4; the others: it loses 6. Without knowing: choice 0. Worth 4 / 2."""
    befalls = np.tile([0.0, 1.0], 50)
    losses = np.column_stack((np.zeros(100), np.where(befalls > 0, -4.0, 6.0)))
    told = worth(losses, terms_of(befalls, losses), rng=np.random.default_rng(1))
    assert told.value == pytest.approx(2.0)
    assert told.changes == 0.5
    assert told.best.tolist() == befalls.astype(int).tolist()
    assert of_everything(losses) == pytest.approx(2.0)


def test_numbers_that_matter_only_together_are_worth_more_together():
    rng = np.random.default_rng(5)
    numbers = list(rng.normal(size=(4, 1000)))
    losses = np.column_stack((np.zeros(1000), sum(numbers)))
    single = [worth(losses, terms_of(x, losses), rng=rng).value for x in numbers]
    terms = terms_together(numbers)
    assert terms is not None
    together = worth(losses, terms, rng=rng)
    assert together.value == pytest.approx(2 * LINEAR_LOSS[0.0], rel=0.1)  # a sum of four has the deviation 2
    assert together.value > 1.5 * max(single)
    assert terms_together([x[:30] for x in numbers]) is None  # 30 trials do not bear four numbers


def test_too_few_trials_or_choices_are_refused():
    losses = np.zeros((39, 2))
    with pytest.raises(ValueError, match="40 trials"):
        worth(losses, np.zeros((39, 1)), rng=np.random.default_rng(1))
    with pytest.raises(ValueError, match="two options"):
        worth(np.zeros((50, 1)), np.zeros((50, 1)), rng=np.random.default_rng(1))


@pytest.fixture
def stopped(tmp_path):
    """A site on which all is certain but whether the structure stops for three weeks."""
    copytree(ONE_TRADE, tmp_path / "site")
    path = tmp_path / "site" / "scenario.toml"
    text = path.read_text()
    for spread, certain in (
        ('slip_days = { low = 0, likely = 0.5, high = 3, shape = "triangular"', "slip_days = { value = 0"),
        ('unit_min = { low = 8, likely = 12, high = 25, shape = "pert"', "unit_min = { value = 60"),
        ("pace = { p10 = 0.9, p50 = 1.0, p90 = 1.2", "pace = { value = 1"),
        ("[resource.bracket_gang]\ncount = 1", "[resource.bracket_gang]\ncount = 1\ncost_per_day = 3"),
        ("date = 2027-04-01", "date = 2027-03-22\ndamages_per_day = 4"),
    ):
        assert spread in text
        text = text.replace(spread, certain)
    text += """
[cost]
unit = "gang-day"
site_overhead_per_day = 1
[[risk]]
name = "structure stops"
chance = 0.5
on = "handover"
level = 2
delay_days = 10
[setup.two_gangs]
resource.bracket_gang.count = 2
resource.bracket_gang.cost_mobilise = 44
"""
    path.write_text(text)
    return path


def test_a_risk_that_alone_decides_is_worth_what_four_costs_say(stopped):
    known = know(load(stopped), "two_gangs", trials=60)
    costs = known.detail.losses
    risk = next(one for one in known.detail.numbers if one.drawn.name == "risk structure stops")
    befalls = risk.drawn.values > 0
    states = [(costs[befalls == state], np.mean(befalls == state)) for state in (False, True)]
    assert all(np.ptp(state, axis=0).max() == 0 for state, _ in states)  # nothing else is uncertain
    blind = min(sum(share * state[0, option] for state, share in states) for option in (0, 1))
    seeing = sum(share * state[0].min() for state, share in states)
    assert blind - seeing > 0.5
    assert risk.worth.value == pytest.approx(blind - seeing)
    assert known.answer.fact("everything") == pytest.approx(blind - seeing)
    assert risk.proven
    row = known.frame("numbers").set_index("number").loc["risk structure stops"]
    assert row["rule"] == "'two_gangs' if it does not, 'base' if it befalls"
    rows = known.frame("by_value").query("number == 'risk structure stops'")
    best = [rows["setup"][group["diff_loss"].idxmin()] for _, group in rows.groupby("value")]
    assert best == ["two_gangs", "base"]
    said = known.plot("choice_by_value").get_suptitle()
    assert said == "Slip of the top level: 'two gangs' below 10, 'base' from 10"  # which the risk alone moves
    assert len(known.plot("worth_knowing").axes[0].patches) == 2  # the slip of the top level shows it too


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"trials": 39}, "trials"),
        ({"by": "money"}, "missing table"),
        ({"by": "hours"}, "'money' or 'days'"),
        ({"setups": "tow_gangs"}, "tow_gangs"),
        ({"setups": []}, "at least one"),
    ],
)
def test_what_cannot_be_asked_is_a_fault(asked, said):
    tower = load(ONE_TRADE / "scenario.toml")
    wanted = asked.pop("setups", {"two gangs": {"resource.bracket_gang.count": 2}})
    with pytest.raises(InputError, match=said):
        know(tower, wanted, **{"trials": 40, **asked})


def test_trials_beyond_the_horizon_give_no_value_and_say_so():
    tower = load(
        ONE_TRADE / "scenario.toml",
        {"tower.horizon_days": 8, "contract.brackets_done.date": date(2027, 3, 5)},
    )
    known = know(tower, {"two gangs": {"resource.bracket_gang.count": 2}}, trials=40)
    assert "beyond the horizon" in known.answer.said
    assert known.figures == ()
    assert known.frame("numbers").empty
