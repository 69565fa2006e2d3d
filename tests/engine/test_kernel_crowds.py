"""Crowds: what the kernel saves of looking at steps that wait shows in no stamp of theirs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from crowded_plans import crowded
from test_kernel_agrees import assert_same
from test_kernel_rulings import run_both, story

from support.compiler import compiled_here
from support.dice import Dice, on_random
from towerpace import Give, Plan, Pool, Step, Window
from towerpace.engine.diary import DATE
from towerpace.engine.kernel.arrays import NONE
from towerpace.engine.kernel.run import run
from towerpace.engine.kernel.tables import compiled
from towerpace.engine.kernel.trees import first_below, set_leaf

HOIST = (Pool("hoist", 1), Pool("cart", 1))
DAYS = Window("day", [(0, 10), (20, 24), (30, 40), (50, 60)])


def crate(name, *, work=4, rank=1, window="day", **more):
    """A step that needs the hoist, and `work` minutes of a shift."""
    return Step(name, work=work, needs={"hoist": 1}, rank=rank, window=window, mode="start", **more)


def busy(until, **more):
    """A step that has the hoist from minute 0 on, in no window."""
    return Step(f"busy to {until}", work=until, needs={"hoist": 1}, **more)


def loan(rank):
    """A step that lasts no time at the opening at 20, and brings a hoist."""
    gives = [Give("hoist")]
    return Step("loan", needs={"cart": 1}, gives=gives, rank=rank, window="day", mode="start", date=11)


def more(date):
    """A hoist that comes later."""
    return Step("more", date=date, gives=[Give("hoist")])


def planned(*steps, pools=HOIST, windows=(DAYS,), horizon=100):
    return Plan(steps, pools=pools, windows=windows, horizon=horizon)


@on_random(crowded, cases=1500)
def test_crowds_at_the_ends_of_short_shifts_have_the_same_diary_in_both_engines(case):
    assert_same(*case)


class TestToWhomATurnIsOwed:
    """By the rule of `engine.turns`, worked by hand; `story` also compares with the reference."""

    def test_who_was_refused_late_in_the_shift_owes_it_to_who_gave_then_and_not_to_who_gave_at_night(self):
        night = Step("night", work=4, needs={"hoist": 1}, rank=2, date=1)
        plan = planned(busy(8), crate("waits", date=1), night)
        assert story(plan, "night") == (8, "busy to 8")
        assert story(plan, "waits") == (20, "busy to 8")

    def test_who_stood_behind_the_taker_was_not_looked_at_and_owes_it_to_the_next_giver(self):
        night = Step("night", work=4, needs={"hoist": 1}, rank=2, date=1)
        plan = planned(busy(8), crate("waits", rank=3, date=1), night)
        assert story(plan, "waits") == (20, "night")

    def test_who_is_short_at_its_opening_watches_again(self):
        plan = planned(busy(8), crate("first", date=1, work=3), crate("second", date=1, rank=2))
        assert story(plan, "first") == (20, "busy to 8")
        assert story(plan, "second") == (30, "first")

    def test_who_was_short_at_an_opening_forgets_who_gave_before_it(self):
        # Neither fits at 20. At 30 "first" takes the hoist; at 38 too little is left for "short".
        plan = planned(busy(8), crate("first", date=1, work=8), crate("short", date=1, rank=2, work=6))
        assert story(plan, "first") == (30, "busy to 8")
        assert story(plan, "short") == (50, "first")

    def test_a_shift_too_short_for_it_does_not_count_as_an_opening(self):
        # At 20 "short" takes the hoist and gives it at 23; "long" does not fit there and never was short.
        steps = [busy(9), crate("short", date=1, work=3), crate("long", date=1, rank=2, work=8)]
        plan = planned(*steps)
        assert story(plan, "short") == (20, "busy to 9")
        assert story(plan, "long") == (30, "busy to 9")

    def test_who_came_when_a_unit_was_free_owes_nothing_to_givers(self):
        # Two hoists; "passing" gives one of them at night.
        steps = [
            Step("before", work=12),
            crate("waits", after=["before"]),
            Step("passing", work=2, needs={"hoist": 1}, date=13),
            crate("late", date=14, rank=2),
        ]
        plan = planned(*steps, pools=[Pool("hoist", 2)])
        assert story(plan, "waits") == (20, "before")
        assert story(plan, "late") == (20, DATE)

    def test_who_came_when_a_unit_was_free_and_is_short_at_its_opening_owes_it_to_the_giver(self):
        steps = [crate("first", date=12), crate("second", date=12, rank=2, work=3), crate("third", date=13)]
        plan = planned(*steps)
        assert story(plan, "first") == (20, DATE)
        assert story(plan, "third") == (30, "first")
        assert story(plan, "second") == (34, "third")

    def test_of_two_givers_of_one_minute_the_highest_number_counts_at_the_refusal_too(self):
        steps = [crate("waits", date=1), busy(8), replace(busy(8), name="busy too")]
        for order in (steps, [steps[0], steps[2], steps[1]]):
            plan = planned(*order, pools=[Pool("hoist", 2)])
            assert story(plan, "waits") == (20, plan.names[2])

    def test_a_gain_between_two_refusals_changes_nothing_for_who_was_refused_before(self):
        # "flash" takes the hoist of minute 8 and gives it back at once: "smaller" was refused before that,
        # "greater" after.
        steps = [
            busy(8),
            crate("smaller", date=1),
            Step("flash", needs={"hoist": 1}, rank=2, date=1),
            crate("greater", date=1, rank=3),
        ]
        plan = planned(*steps, pools=[Pool("hoist", 1)])
        assert story(plan, "smaller") == (20, "busy to 8")
        assert story(planned(*steps, more(12)), "greater") == (20, "flash")

    def test_all_that_wait_are_refused_in_the_end_if_nobody_takes_the_unit(self):
        trip = Step("trip", needs={"cart": 1}, rank=2, date=8)
        plan = planned(busy(8), crate("first", date=1), trip, crate("behind", date=1, rank=3), more(12))
        assert story(plan, "behind") == (20, "busy to 8")

    def test_who_was_refused_before_a_smaller_key_came_stays_refused(self):
        trip = Step("trip", needs={"cart": 1}, rank=4, date=8)
        urgent = Step("urgent", work=4, needs={"hoist": 1}, rank=2, after=["trip"])
        waiting = [crate("first", date=1), crate("waits", date=1, rank=3)]
        plan = planned(busy(8), *waiting, trip, urgent, more(13))
        assert story(plan, "urgent") == (8, "trip")
        assert story(plan, "waits") == (20, "busy to 8")

    def test_who_comes_after_the_refusals_of_its_minute_was_not_refused(self):
        # In minute 8 "flash" gives, "greater" is refused, "night" takes the hoist; then comes "newcomer".
        steps = [
            busy(8),
            crate("waits", date=1),
            Step("flash", needs={"hoist": 1}, rank=2, date=1),
            crate("greater", date=1, rank=5),
            Step("night", work=4, needs={"hoist": 1}, rank=6, date=1),
            Step("trip", needs={"cart": 1}, rank=7, date=8),
            crate("newcomer", after=["trip"], rank=3),
            more(13),
        ]
        assert story(planned(*steps), "newcomer") == (20, "night")


class TestWithinTheMinuteOfAnOpening:
    """At 20 "first" takes the hoist and "loan" brings a second one, lasting no time."""

    @pytest.mark.parametrize(("rank", "enabler"), [(3, "busy to 8"), (5, "loan")])
    def test_who_was_found_short_before_a_gain_owes_it_to_that_gain(self, rank, enabler):
        steps = [
            busy(8),
            crate("first", date=1),
            crate("second", date=1, rank=4),
            loan(rank),
        ]
        assert story(planned(*steps), "second") == (20, enabler)

    def test_who_comes_in_that_minute_with_a_smaller_key_was_not_found_short(self):
        # "loan" is served after "second" was found short, and lets go "urgent", which takes the hoist.
        steps = [
            busy(8),
            crate("first", date=1),
            crate("second", date=1, rank=4),
            loan(5),
            crate("urgent", after=["loan"], rank=3),
        ]
        plan = planned(*steps)
        assert story(plan, "urgent") == (20, "loan")
        assert story(plan, "second") == (30, "urgent")

    def test_who_was_found_short_stays_so_when_a_smaller_key_comes_before_the_gain(self):
        steps = [
            busy(8),
            crate("first", date=1),
            crate("second", date=1, rank=4),
            Step("trip", needs={"cart": 1}, rank=5, date=20),
            Step("loan", needs={"cart": 1}, rank=3, after=["trip"], gives=[Give("hoist")]),
        ]
        assert story(planned(*steps), "second") == (20, "loan")

    def test_a_chain_of_steps_without_length_passes_through_one_hoist_in_key_order(self):
        steps = [busy(8), *(crate(f"c{k}", work=0, expected=4, date=1, rank=9 - k) for k in range(6))]
        plan = planned(*steps)
        assert [story(plan, f"c{k}") for k in range(6)] == [(20, "busy to 8")] * 6

    def test_crowds_of_two_windows_are_served_in_the_order_of_keys(self):
        windows = [DAYS, Window("calm", [(0, 6), (20, 50)])]
        ranks = {"a": ("day", 1), "b": ("calm", 2), "c": ("day", 3), "d": ("calm", 4)}
        steps = [crate(n, rank=r, window=w, date=1, work=2) for n, (w, r) in ranks.items()]
        plan = planned(busy(9), *steps, windows=windows)
        # At 24 the day is over for "c", which is looked at before "d" takes the hoist.
        assert [story(plan, n) for n in ranks] == [(20, "busy to 9"), (22, "a"), (30, "b"), (24, "b")]


class TestAlarms:
    def test_a_smaller_one_that_comes_later_is_called_at_an_earlier_opening(self):
        plan = planned(crate("long", date=11, work=8), crate("small", date=12, work=2, rank=2))
        assert story(plan, "long") == (30, DATE)
        assert story(plan, "small") == (20, DATE)

    def test_an_opening_beyond_the_horizon_never_comes(self):
        for horizon, started in ((20, -1), (21, 20)):
            diary = run_both(planned(busy(8), crate("waits", date=1), horizon=horizon))
            assert diary.started_at("waits") == started

    @pytest.mark.parametrize("date", [1, 3])
    def test_who_fits_at_no_opening_holds_nobody_back(self, date):
        stormy = Window("day", DAYS.shifts, stops=[(0, 3), (5, 100)])
        steps = [crate("never", date=date, work=9), crate("waits", date=1, rank=2, work=1)]
        plan = planned(busy(2), *steps, windows=[stormy])
        assert story(plan, "waits") == (3, "busy to 2")
        assert run_both(plan).started_at("never") == -1

    def test_a_positioned_unit_that_was_waited_for_moves_to_its_place(self):
        cranes = [Pool("hoist", 1, at=["x"], moves={("x", "y"): 2, ("y", "x"): 3})]
        steps = [busy(8, place="x"), crate("waits", date=1, place="y")]
        plan = planned(*steps, pools=cranes)
        assert story(plan, "waits") == (20, "busy to 8")
        assert run_both(plan).finished_at("waits") == 26


class TestWhoIsAMember:
    def test_members_need_one_unit_of_one_pool_by_rank_in_no_line_in_mode_start(self):
        pools = [Pool("hoist", 2), Pool("gate", 1, line="gate"), Pool("other", 1)]
        pools += [Pool("fair", 1, order="first come")]
        start = {"window": "day", "mode": "start", "work": 1}
        steps = [
            Step("member", needs={"hoist": 1}, **start),
            Step("two units", needs={"hoist": 2}, **start),
            Step("two pools", needs={"hoist": 1, "other": 1}, **start),
            Step("in a line", needs={"gate": 1}, **start),
            Step("first come", needs={"fair": 1}, **start),
            Step("works", needs={"hoist": 1}, window="day", mode="work", work=1),
            Step("without a window", needs={"hoist": 1}),
            Step("needs nothing", **start),
        ]
        tables = compiled(planned(*steps, pools=pools))
        assert tables.start.steps.member.tolist() == [0] + [NONE] * 7

    def test_marks_without_room_stop_the_trial(self):
        plan = planned(busy(8), crate("waits", date=1))
        compiled(plan).start.crowds.first_mark[1:] = 0
        with pytest.raises(RuntimeError, match="ran out of room"):
            run(plan)

    def test_alarms_without_room_stop_the_trial(self):
        plan = planned(busy(8), crate("waits", date=1))
        tables = compiled(plan)
        future, in_turn = np.zeros((2, 2), dtype=np.int64)
        clock = tables.start.clock._replace(future=future, in_turn=in_turn)
        tables.start = tables.start._replace(clock=clock)
        with pytest.raises(RuntimeError, match="ran out of room"):
            run(plan)


@compiled_here
def _first_of_each(values, changes, bounds):
    """Set leaf after leaf, and ask after each for the first below a bound."""
    found = np.empty(len(bounds), dtype=np.int64)
    for k in range(len(bounds)):
        set_leaf(values, (0, len(values)), changes[k, 0], changes[k, 1])
        found[k] = first_below(values, (0, len(values)), bounds[k])
    return found


def leaves_changes_and_bounds(dice: Dice):
    leaves = 2 ** dice.whole(0, 5)
    changes = np.array([(dice.whole(0, leaves - 1), dice.whole(0, 5)) for _ in range(40)])
    return leaves, changes, np.array([dice.whole(0, 6) for _ in range(40)])


@on_random(leaves_changes_and_bounds, cases=500)
def test_the_first_leaf_below_a_bound_is_what_a_search_from_the_left_finds(case):
    leaves, changes, bounds = case
    found = _first_of_each(np.full(2 * leaves, 9), changes, bounds)
    plain = [9] * leaves
    for (leaf, value), bound, place in zip(changes.tolist(), bounds.tolist(), found.tolist(), strict=True):
        plain[leaf] = value
        assert place == next((k for k, x in enumerate(plain) if x < bound), -1)
