"""Decisions of a scenario: what they leave open, and what is wrong with them, at its line."""

import datetime as dt

import pytest

from support.open_tower import write_open_tower
from towerpace.answers.choose.open_setups import open_setups
from towerpace.faults import InputError
from towerpace.scenario import load
from towerpace.scenario.decisions import decisions_of


def test_the_files_own_value_stands_among_the_values_in_its_place(tmp_path):
    more = '[decision.start]\nkey = "contract.envelope.date"\nfrom = 2027-03-23\nto = 2027-03-29\nstep = 3\n'
    crews, hoists, slots, start, early = decisions_of(load(write_open_tower(tmp_path, more=more)))
    assert ([option.label for option in crews.options], crews.standing) == (["1", "2", "3"], 1)
    assert ([option.label for option in hoists.options], hoists.standing) == (["1", "2", "3"], 0)
    assert crews.options[2].changes == {"resource.panel_gang.count": 3, "resource.floor_crane.count": 3}
    assert hoists.options[0].changes == {}
    assert slots.when == {"hoists": frozenset({1, 2})}
    assert [option.value for option in start.options] == [dt.date(2027, 3, day) for day in (23, 25, 26, 29)]
    assert (early.is_candidate, [option.label for option in early.options]) == (True, ["no", "yes"])


def test_what_is_open_is_counted_under_its_conditions(tmp_path):
    opened = open_setups(load(write_open_tower(tmp_path)))
    assert opened.space.count == 3 * (1 + 2 * 2) * 2
    assert opened.name(opened.space.standing) == "as the file is"
    assert opened.name(opened.alone(2, 1)) == "hoists = 2, slots = 48"


def test_a_key_that_two_decide_is_never_changed_by_both(tmp_path):
    more = "[candidate.three_hoists]\nresource.hoist.count = 3\n"
    opened = open_setups(load(write_open_tower(tmp_path, more=more)))
    numbers = {axis.name: k for k, axis in enumerate(opened.space.axes)}
    both = [p for p in opened.space.all() if p[numbers["hoists"]] and p[numbers["three_hoists"]]]
    assert both == []


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("values = [2, 3]", "values = [2, 2]", "decision.hoists.values[1]: found 2 twice"),
        ("values = [2, 3]\n", "", "decision.hoists: missing values; allowed: values, or from, to"),
        ("values = [2, 3]\n", "from = 3\nto = 2\nstep = 1\n", "hoists.to: found 2; allowed: after"),
        ("values = [2, 3]\n", "from = 1\nto = 3\n", "decision.hoists.step: missing"),
        (
            "values = [2, 3]\n",
            'from = 1\nto = 3\nstep = "two"\n',
            'step: found "two"; allowed: a number above 0',
        ),
        ("values = [2, 3]\n", "from = 1\nto = 3\nstep = 0.001\n", "gives at most 200 values"),
        ("values = [48]", 'values = [48]\nlabels = ["a", "b"]', "labels: found 2 labels; allowed: 1"),
        ("when = { hoists", "when = { hoist", "slots.when.hoist: found"),
        (
            "hoists = [2, 3] }",
            "hoists = [2, 4] }",
            "slots.when.hoists: found 4; allowed: a value of hoists: 2",
        ),
        ('key = "storage.slots', 'key = "storage..slots', "decision.slots.key: found"),
        ('key = "storage.slots_per_level"', 'key = "resource.hoist.count"', "hoists decides it"),
        ('key = "resource.hoist.count"', 'key = "resource.hoists.count"', "nearest: resource.hoist"),
        ("values = [48]", 'values = [48]\nnot_with = ["early_hoist"]', "nearest: early_hoisting"),
        ("from = 1\nto = 3\nstep = 1", "values = [[1, 1, 2]]", "crews.values[0]: found a list of 3 values"),
        ("values = [2, 3]", "values = [2, 3]\nwhen = { slots = 48 }", "a circle that leads back here"),
        ("[decision.hoists]", "[decision.early_hoisting]", "a candidate too"),
        (
            'calendar.site.week.mon = ["06:00-12:00", "12:30-17:00"]',
            "resource.hoists.count = 3",
            'candidate.early_hoisting.resource.hoists: found "resource.hoists"; allowed: resource.panel_gang',
        ),
        ("calendar.site.week.mon = [", "calendar.sit.week.mon = [", "nearest: calendar.site"),
        (
            'calendar.site.week.mon = ["06:00-12:00", "12:30-17:00"]',
            'note = "Hoists from six."',
            "candidate.early_hoisting: found no changes; allowed: what it changes",
        ),
    ],
)
def test_what_does_not_go_together_is_told_at_its_line(tmp_path, old, new, said):
    path = write_open_tower(tmp_path, replace={old: new})
    with pytest.raises(InputError) as error:
        load(path)
    assert said in str(error.value)
    assert all(fault.line is not None for fault in error.value.faults)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "values = [2, 3]",
            "values = [0, 2, 3]",
            "decision.hoists = 0: hoist.resource: found 1 of",
        ),
        (
            "values = [48]",
            "values = [1, 48]",
            "decision.slots = 1: storage.slots_per_level: found 1; allowed",
        ),
    ],
)
def test_a_value_that_cannot_be_run_is_told_at_the_line_of_its_decision(tmp_path, old, new, said):
    scenario = load(write_open_tower(tmp_path, replace={old: new}))
    with pytest.raises(InputError) as error:
        open_setups(scenario)
    assert said in str(error.value)
    assert error.value.faults[0].line is not None


def test_a_candidate_may_bring_what_it_asks_for_itself(tmp_path):
    """A calendar that only the candidate has, and names as the hours of its trade."""
    hours = ", ".join(f'{day} = ["06:00-18:00"]' for day in ("mon", "tue", "wed", "thu", "fri"))
    calendar = f"calendar.early = {{ week = {{ {hours} }} }}"
    more = f'[candidate.own_hours]\n{calendar}\ntrade.panels.calendar = "early"\n'
    opened = open_setups(load(write_open_tower(tmp_path, more=more)))
    assert "own_hours" in [one.name for one in opened.decided]


def test_decisions_are_no_part_of_what_is_simulated(tmp_path):
    with_them = load(write_open_tower(tmp_path))
    without = load(write_open_tower(tmp_path, replace={"values = [2, 3]": "values = [2, 3, 4]"}))
    assert with_them.hash == without.hash
