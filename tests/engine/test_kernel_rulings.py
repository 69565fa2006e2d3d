"""Every ruling of the model again, through both engines, and plans for what random ones may miss."""

from __future__ import annotations

import inspect

import numpy as np
import pytest

from plan import test_rulings
from towerpace import Give, Plan, Pool, Step, Window
from towerpace.draws import Draw, as_planned
from towerpace.engine import reference
from towerpace.engine.kernel.run import run as run_compiled

RULINGS = [
    pytest.param(group, name, id=f"{group.__name__}-{name}")
    for _, group in inspect.getmembers(test_rulings, inspect.isclass)
    if group.__name__.startswith("Test")
    for name in dir(group)
    if name.startswith("test_")
]


def run_both(plan, draw=None):
    """The kernel's diary, after it was found equal to the reference's."""
    expected, actual = reference.run(plan, draw), run_compiled(plan, draw)
    for stamp in ("ready", "started", "finished", "enabler"):
        assert getattr(actual, stamp).tolist() == getattr(expected, stamp).tolist(), stamp
    return actual


def story(plan, name, draw=None):
    """Start and enabler of a step by name."""
    diary = run_both(plan, draw)
    enabler = int(diary.enabler[plan.index[name]])
    return diary.started_at(name), plan.names[enabler] if enabler >= 0 else enabler


@pytest.mark.parametrize(("group", "name"), RULINGS)
def test_the_ruling_holds_in_the_kernel(group, name, monkeypatch):
    monkeypatch.setattr(test_rulings, "run", run_both)
    getattr(group(), name)()


class TestGivers:
    def test_of_two_givers_of_one_minute_the_highest_number_enables(self):
        steps = [
            Step("waits", work=1, needs={"gang": 2}, rank=1, date=1),
            Step("high", work=5, needs={"gang": 1}),
            Step("low", work=5, needs={"gang": 1}),
        ]
        for order in (steps, [steps[0], steps[2], steps[1]]):
            plan = Plan(order, pools=[Pool("gang", 2)])
            assert story(plan, "waits") == (5, plan.names[2])

    def test_a_giver_of_a_later_minute_takes_over_from_a_higher_number(self):
        steps = [
            Step("waits", work=1, needs={"gang": 2}, rank=1, date=1),
            Step("later", work=6, needs={"gang": 1}),
            Step("sooner", work=5, needs={"gang": 1}),
        ]
        assert story(Plan(steps, pools=[Pool("gang", 2)]), "waits") == (6, "later")

    def test_a_giver_of_no_length_does_not_take_over_from_a_higher_number_of_the_same_minute(self):
        # "flash" (0) takes the unit that "busy" (3) gives and hands it back in the same minute.
        steps = [
            Step("flash", needs={"gang": 1}, rank=1, date=1),
            Step("waits", work=1, needs={"gang": 1}, rank=2, date=1),
            Step("idle"),
            Step("busy", work=5, needs={"gang": 1}),
        ]
        assert story(Plan(steps, pools=[Pool("gang", 1)]), "waits") == (5, "busy")

    def test_who_was_short_of_two_pools_names_the_giver_of_the_one_watched_last(self):
        steps = [
            Step("holds a", work=9, needs={"a": 1}),
            Step("holds b", work=5, needs={"b": 1}),
            Step("wants both", work=1, needs={"b": 1, "a": 1}, rank=1, date=1),
            Step("wants both too", work=1, needs={"a": 1, "b": 1}, rank=2, date=1),
        ]
        plan = Plan(steps, pools=[Pool("a", 1), Pool("b", 1)])
        assert story(plan, "wants both") == (9, "holds a")
        assert story(plan, "wants both too") == (10, "wants both")

    def test_the_enabler_stands_when_the_window_opens_later(self):
        steps = [
            Step("busy", work=5, needs={"gang": 1}),
            Step("waits", work=1, needs={"gang": 1}, rank=1, date=1, window="day", mode="start"),
        ]
        plan = Plan(steps, pools=[Pool("gang", 1)], windows=[Window("day", [(0, 3), (20, 30)])])
        assert story(plan, "waits") == (20, "busy")

    def test_who_was_short_while_its_window_was_closed_names_the_giver(self):
        steps = [
            Step("busy", work=5, needs={"gang": 1}),
            Step("waits", work=1, needs={"gang": 1}, rank=1, date=4, window="day", mode="start"),
        ]
        plan = Plan(steps, pools=[Pool("gang", 1)], windows=[Window("day", [(0, 3), (20, 30)])])
        assert story(plan, "waits") == (20, "busy")

    def test_of_predecessors_released_through_a_skipped_step_the_highest_number_enables(self):
        steps = [
            Step("first", work=3),
            Step("skipped", after=["first"], skip="f"),
            Step("skipped too", after=["skipped"], skip="f"),
            Step("last", after=["skipped too", "first"]),
        ]
        plan = Plan(steps)
        planned = as_planned(plan)
        draw = Draw(planned.work, planned.date, np.array([False, True, True, False]))
        assert story(plan, "last", draw) == (3, "skipped too")


class TestSeveralRoundsOfOneMinute:
    def test_a_step_of_no_length_releases_one_with_a_smaller_key_than_those_that_wait(self):
        steps = [
            Step("busy", work=4, needs={"gang": 1}),
            Step("flash", needs={"gang": 1}, rank=5, date=1),
            Step("urgent", work=1, needs={"gang": 1}, after=["flash"], rank=1),
            Step("patient", work=1, needs={"gang": 1}, rank=6, date=1),
        ]
        plan = Plan(steps, pools=[Pool("gang", 1)])
        assert story(plan, "urgent") == (4, "flash")
        assert story(plan, "patient") == (5, "urgent")

    def test_what_was_set_aside_is_asked_again_only_when_its_own_pool_gains(self):
        steps = [
            Step("busy", work=5, needs={"gang": 1}),
            Step("two", work=1, needs={"gang": 2}, rank=1, date=1),
            Step("flash", needs={"gang": 1}, rank=2, date=1, gives=[Give("cart", 1)]),
            Step("three", work=1, needs={"gang": 1}, rank=3, date=1),
            Step("brings", date=7, gives=[Give("gang", 1)]),
        ]
        plan = Plan(steps, pools=[Pool("gang", 1), Pool("cart", 0)])
        assert story(plan, "three") == (5, "flash")
        assert story(plan, "two") == (7, "brings")

    def test_who_is_set_aside_is_asked_again_in_a_later_minute(self):
        steps = [
            Step("a", work=5, needs={"gang": 1}),
            Step("b", work=8, needs={"gang": 1}),
            Step("two", work=1, needs={"gang": 2}, rank=1, date=1),
        ]
        assert story(Plan(steps, pools=[Pool("gang", 2)]), "two") == (8, "b")


class TestLinesInTheKernel:
    POOLS = (Pool("a", 1, line="gate"), Pool("b", 1, line="gate"))

    def test_a_newcomer_with_a_smaller_key_stands_in_front_and_the_old_head_keeps_watching(self):
        steps = [
            Step("busy", work=10, needs={"a": 1}),
            Step("old head", work=2, needs={"a": 1}, rank=2, date=1),
            Step("newcomer", work=3, needs={"b": 1}, rank=1, date=4),
            Step("behind", work=1, needs={"b": 1}, rank=3, date=2),
        ]
        plan = Plan(steps, pools=self.POOLS)
        assert story(plan, "newcomer") == (4, -2)
        assert story(plan, "old head") == (10, "busy")
        assert story(plan, "behind") == (10, "busy")

    def test_who_stood_behind_and_is_short_itself_names_the_giver_and_not_the_head(self):
        steps = [
            Step("busy a", work=4, needs={"a": 1}),
            Step("busy b", work=9, needs={"b": 1}),
            Step("head", work=1, needs={"a": 1}, rank=1, date=1),
            Step("behind", work=1, needs={"b": 1}, rank=2, date=2),
        ]
        assert story(Plan(steps, pools=self.POOLS), "behind") == (9, "busy b")

    def test_who_falls_behind_forgets_the_pool_that_it_watched(self):
        # "head" watches a, gains it in minute 10, but "newcomer" of the same minute is in front and stays
        # there until b comes at 14: then the enabler of "newcomer" counts, not the giver of a.
        steps = [
            Step("busy a", work=10, needs={"a": 1}),
            Step("busy b", work=14, needs={"b": 1}),
            Step("head", work=1, needs={"a": 1}, rank=2, date=1),
            Step("newcomer", work=1, needs={"b": 1}, rank=1, date=10),
        ]
        plan = Plan(steps, pools=self.POOLS)
        assert story(plan, "head") == (14, "busy b")

    def test_a_line_served_first_come_goes_by_the_minute_of_being_ready(self):
        pools = [Pool("a", 1, line="gate", order="first come")]
        steps = [
            Step("busy", work=10, needs={"a": 1}),
            Step("later", work=1, needs={"a": 1}, rank=1, date=3),
            Step("earlier", work=1, needs={"a": 1}, rank=2, date=2),
        ]
        assert story(Plan(steps, pools=pools), "later") == (11, "earlier")


class TestAtTheHorizon:
    @pytest.mark.parametrize("work", [39, 40, 41, 2**62])
    @pytest.mark.parametrize("mode", ["always", "start", "work", "unbroken"])
    def test_an_end_beyond_the_horizon_is_never_reached(self, work, mode):
        step = Step("a", window=None if mode == "always" else "day", mode=mode)
        plan = Plan([step], windows=[Window("day", [(0, 90)])], horizon=40)
        planned = as_planned(plan)
        diary = run_both(plan, Draw(np.array([work]), planned.date, planned.skip))
        assert diary.finished.tolist() == [work if work <= 40 else -1]

    @pytest.mark.parametrize("date", [40, 41, 2**62])
    def test_a_date_beyond_the_horizon_never_comes(self, date):
        plan = Plan([Step("a"), Step("b", needs={"gang": 1})], pools=[Pool("gang", 1)], horizon=40)
        planned = as_planned(plan)
        diary = run_both(plan, Draw(planned.work, np.array([date, date]), planned.skip))
        assert diary.ready.tolist() == [date if date <= 40 else -1] * 2
