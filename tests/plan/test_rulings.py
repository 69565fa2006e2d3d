"""Each ruling of the model on a small plan of its own, worked by hand."""

from dataclasses import replace
from typing import ClassVar

import numpy as np
import pytest

from towerpace import Give, Plan, Pool, Step, Window
from towerpace.draws import Draw, as_planned
from towerpace.engine.reference import run
from towerpace.plan.parts import PlanError
from towerpace.plan.pins import Pins, resumed

DAYS = Window("day", [(420, 720), (750, 1020), (1860, 2160)])


def started(plan, *names, draw=None):
    diary = run(plan, draw)
    return [diary.started_at(name) for name in names]


def drawn(plan, **work):
    planned = as_planned(plan)
    minutes = planned.work.copy()
    for name, value in work.items():
        minutes[plan.index[name]] = value
    return Draw(minutes, planned.date, planned.skip)


def skipping(plan, *names):
    planned = as_planned(plan)
    skip = planned.skip.copy()
    for name in names:
        skip[plan.index[name]] = True
    return Draw(planned.work, planned.date, skip)


class TestStart:
    def test_a_step_starts_when_predecessors_are_done_and_its_date_has_come(self):
        plan = Plan(
            [Step("a", work=5), Step("b", work=1, after=["a"], date=3), Step("c", after=["a"], date=9)]
        )
        assert started(plan, "b", "c") == [5, 9]

    def test_competing_steps_are_served_by_rank_and_then_by_number(self):
        steps = [Step(n, work=10, needs={"gang": 1}, rank=r) for n, r in (("a", 2), ("b", 1), ("c", 1))]
        assert started(Plan(steps, pools=[Pool("gang", 1)]), "b", "c", "a") == [0, 10, 20]

    def test_first_come_goes_before_rank_where_the_pool_says_so(self):
        steps = [
            Step("busy", work=10, needs={"gang": 1}),
            Step("late but low", work=1, needs={"gang": 1}, date=5, rank=-9),
            Step("early", work=1, needs={"gang": 1}, date=4),
        ]
        assert started(Plan(steps, pools=[Pool("gang", 1, order="first come")]), "early", "late but low") == [
            10,
            11,
        ]
        assert started(Plan(steps, pools=[Pool("gang", 1)]), "early", "late but low") == [11, 10]

    def test_all_pools_are_taken_together_or_none(self):
        steps = [
            Step("holds crane", work=8, needs={"crane": 1}),
            Step("wants both", work=1, needs={"gang": 1, "crane": 1}, rank=1),
            Step("wants gang", work=20, needs={"gang": 1}, rank=2),
        ]
        plan = Plan(steps, pools=[Pool("gang", 1), Pool("crane", 1)])
        assert started(plan, "wants gang", "wants both") == [0, 20]

    def test_there_is_no_reservation_so_small_jobs_overtake_a_large_one(self):
        small = [Step(f"small {k}", work=10, needs={"gang": 1}, date=5 * k, rank=1) for k in range(6)]
        plan = Plan([Step("large", work=1, needs={"gang": 2}, date=1), *small], pools=[Pool("gang", 2)])
        assert started(plan, "large") == [35]


class TestWindows:
    def test_a_start_step_waits_for_a_shift_it_fits_into_and_a_break_ends_a_shift(self):
        plan = Plan([Step("lift", work=60, window="day", mode="start", date=661)], windows=[DAYS])
        assert started(plan, "lift") == [750]

    def test_a_start_step_that_just_fits_starts(self):
        plan = Plan([Step("lift", work=60, window="day", mode="start", date=660)], windows=[DAYS])
        assert started(plan, "lift") == [660]

    def test_the_fit_is_judged_by_the_plan_and_the_step_then_runs_on(self):
        plan = Plan([Step("lift", work=60, window="day", mode="start", date=660)], windows=[DAYS])
        diary = run(plan, drawn(plan, lift=300))
        assert (diary.started_at("lift"), diary.finished_at("lift")) == (660, 960)

    def test_a_start_step_under_way_is_not_stopped_by_weather(self):
        windy = Window("day", [(420, 1020)], stops=[(430, 600)])
        plan = Plan([Step("lift", work=60, window="day", mode="start")], windows=[windy])
        assert run(plan).finished_at("lift") == 480

    def test_a_work_step_pauses_and_keeps_its_pools(self):
        windy = Window("day", [(420, 720), (750, 1020)], stops=[(500, 560)])
        steps = [
            Step("seal", work=300, window="day", mode="work", needs={"pair": 1}),
            Step("other", work=1, needs={"pair": 1}, date=1),
        ]
        diary = run(Plan(steps, pools=[Pool("pair", 1)], windows=[windy]))
        # 420-500 is 80 min, 560-720 is 160 more, the last 60 from 750 on
        assert diary.finished_at("seal") == 810
        assert diary.started_at("other") == 0 + 1
        late = Plan(
            [steps[0], Step("other", work=1, needs={"pair": 1}, date=425)],
            pools=[Pool("pair", 1)],
            windows=[windy],
        )
        assert run(late).started_at("other") == 810

    def test_an_unbroken_step_begins_again_after_every_stop(self):
        windy = Window("day", [(420, 1020)], stops=[(450, 460), (500, 520)])
        plan = Plan([Step("weld", work=60, window="day", mode="unbroken")], windows=[windy])
        diary = run(plan)
        assert (diary.started_at("weld"), diary.finished_at("weld")) == (420, 580)

    def test_shifts_that_touch_do_not_break_work(self):
        touching = Window("w", [(0, 60), (60, 160)])
        plan = Plan([Step("weld", work=90, window="w", mode="unbroken")], windows=[touching])
        assert run(plan).finish == 90

    def test_what_arrives_in_the_night_competes_by_key_at_the_opening(self):
        steps = [
            Step("first there", work=30, window="day", mode="start", needs={"crane": 1}, date=100, rank=2),
            Step("more urgent", work=30, window="day", mode="start", needs={"crane": 1}, date=300, rank=1),
        ]
        plan = Plan(steps, pools=[Pool("crane", 1)], windows=[DAYS])
        assert started(plan, "more urgent", "first there") == [420, 450]

    def test_a_step_that_fits_no_shift_is_a_fault_of_the_plan(self):
        with pytest.raises(
            PlanError,
            match=r"step 'lift': expected to last 301 min, but the longest shift of "
            r"window 'day' is 300 min: it could never start",
        ):
            Plan([Step("lift", work=301, window="day", mode="start")], windows=[DAYS])


class TestTheInstant:
    def test_a_step_of_no_length_ends_before_the_next_is_served(self):
        steps = [
            Step("flash", needs={"gang": 1}, rank=0),
            Step("after flash", work=5, after=["flash"], needs={"gang": 1}, rank=1),
            Step("other", work=5, needs={"gang": 1}, rank=2),
        ]
        assert started(Plan(steps, pools=[Pool("gang", 1)]), "flash", "after flash", "other") == [0, 0, 5]

    def test_what_a_step_of_no_length_lets_go_comes_before_others_of_its_minute(self):
        # "flash" ends before "other" is served, so "wide" (rank 1), which waits for it, finds both free.
        steps = [
            Step("flash", needs={"gang": 1}, rank=0),
            Step("wide", work=5, after=["flash"], needs={"gang": 2}, rank=1),
            Step("other", work=5, needs={"gang": 1}, rank=2),
        ]
        assert started(Plan(steps, pools=[Pool("gang", 2)]), "flash", "wide", "other") == [0, 0, 5]

    def test_every_ending_of_the_minute_comes_before_anybody_starts(self):
        steps = [
            Step("a", work=10, needs={"x": 1}),
            Step("b", work=10, needs={"y": 1}),
            Step("wants x", work=1, needs={"x": 1}, rank=2, date=1),
            Step("wants both", work=1, needs={"x": 1, "y": 1}, rank=1, date=1),
        ]
        plan = Plan(steps, pools=[Pool("x", 1), Pool("y", 1)])
        assert started(plan, "wants both", "wants x") == [10, 11]

    def test_a_step_short_of_a_pool_being_served_is_asked_again_when_it_gains_in_the_same_minute(self):
        # At minute 5 one unit comes free: "two" (rank 1) is short of it, "flash" (rank 2) takes it for no
        # time, and its end brings a second unit: now "two" starts before "one" (rank 3), next in line.
        steps = [
            Step("busy", work=5, needs={"gang": 1}),
            Step("two", work=1, needs={"gang": 2}, rank=1, date=1),
            Step("flash", needs={"gang": 1}, rank=2, date=1, gives=[Give("gang", 1)]),
            Step("one", work=1, needs={"gang": 1}, rank=3, date=1),
        ]
        assert started(Plan(steps, pools=[Pool("gang", 1)]), "flash", "two", "one") == [5, 5, 6]

    def test_steps_without_pools_start_and_end_without_queueing(self):
        steps = [
            Step("a", work=3),
            Step("milestone", after=["a"]),
            Step("urgent", work=1, after=["milestone"], needs={"gang": 1}, rank=1),
            Step("waiting", work=1, needs={"gang": 1}, date=3, rank=2),
        ]
        assert started(Plan(steps, pools=[Pool("gang", 1)]), "urgent", "waiting") == [3, 4]


class TestLines:
    def test_only_the_head_of_a_line_may_start(self):
        steps = [
            Step("busy", work=10, needs={"bay": 1}),
            Step("large", work=1, needs={"bay": 2}, rank=1, date=1),
            Step("small", work=1, needs={"bay": 1}, rank=2, date=1),
        ]
        assert started(Plan(steps, pools=[Pool("bay", 2, line="gate")]), "large", "small") == [10, 11]
        assert started(Plan(steps, pools=[Pool("bay", 2)]), "large", "small") == [10, 1]

    def test_a_head_with_a_closed_window_holds_the_line(self):
        steps = [
            Step("head", work=10, window="day", mode="start", needs={"bay": 1}, rank=1),
            Step("behind", work=10, needs={"bay": 1}, rank=2),
        ]
        plan = Plan(steps, pools=[Pool("bay", 2, line="gate")], windows=[DAYS])
        assert started(plan, "head", "behind") == [420, 420]

    def test_pools_may_share_a_line(self):
        steps = [
            Step("busy", work=10, needs={"a": 1}),
            Step("wants a", work=1, needs={"a": 1}, rank=1, date=1),
            Step("wants b", work=1, needs={"b": 1}, rank=2, date=1),
        ]
        shared = [Pool("a", 1, line="gate"), Pool("b", 1, line="gate")]
        assert started(Plan(steps, pools=shared), "wants b") == [10]
        assert started(Plan(steps, pools=[Pool("a", 1, line="x"), Pool("b", 1, line="y")]), "wants b") == [1]

    def test_a_newcomer_with_a_smaller_key_becomes_the_head(self):
        steps = [
            Step("busy", work=10, needs={"bay": 1}),
            Step("old head", work=5, needs={"bay": 1}, rank=2, date=1),
            Step("newcomer", work=5, needs={"bay": 1}, rank=1, date=2),
        ]
        assert started(Plan(steps, pools=[Pool("bay", 1, line="gate")]), "newcomer", "old head") == [10, 15]


class TestPositionedPools:
    MOVES: ClassVar = {
        ("a", "b"): 3,
        ("b", "a"): 3,
        ("a", "c"): 9,
        ("c", "a"): 9,
        ("b", "c"): 4,
        ("c", "b"): 4,
    }

    def crane(self, *at):
        return Pool("crane", len(at), at=at, moves=self.MOVES)

    def test_the_nearest_free_unit_comes_and_its_way_is_added_to_the_work(self):
        plan = Plan([Step("job", work=10, needs={"crane": 1}, place="b")], pools=[self.crane("c", "a")])
        assert run(plan).finish == 13

    def test_of_units_equally_near_the_lowest_number_comes(self):
        steps = [
            Step("job", work=10, needs={"crane": 1}, place="a"),
            Step("then", work=1, needs={"crane": 1}, place="c", after=["job"]),
        ]
        # unit 0 went to a and unit 1 stays at a: both equally far from c, 9 min
        assert run(Plan(steps, pools=[self.crane("a", "a")])).finish == 20

    def test_a_unit_stays_where_it_worked(self):
        steps = [
            Step("at b", work=10, needs={"crane": 1}, place="b"),
            Step("at c", work=10, needs={"crane": 1}, place="c", after=["at b"]),
        ]
        assert run(Plan(steps, pools=[self.crane("a")])).finish == 3 + 10 + 4 + 10

    def test_a_unit_given_back_elsewhere_stands_at_the_givers_place(self):
        steps = [
            Step("take", work=1, needs={"crane": 1}, keeps=["crane"], place="a"),
            Step("give", work=1, after=["take"], gives=[Give("crane", 1, "take")], place="c"),
            Step("next", work=1, needs={"crane": 1}, place="b", after=["give"]),
        ]
        assert run(Plan(steps, pools=[self.crane("a")])).finish == 1 + 1 + 4 + 1

    def test_a_giver_without_a_place_leaves_it_at_the_takers(self):
        steps = [
            Step("take", work=1, needs={"crane": 1}, keeps=["crane"], place="b"),
            Step("give", work=1, after=["take"], gives=[Give("crane", 1, "take")]),
            Step("next", work=1, needs={"crane": 1}, place="c", after=["give"]),
        ]
        assert run(Plan(steps, pools=[self.crane("a")])).finish == 3 + 1 + 1 + 4 + 1

    def test_the_move_runs_in_the_mode_of_the_step(self):
        step = Step("job", work=10, needs={"crane": 1}, place="b", window="w", mode="work")
        plan = Plan([step], pools=[self.crane("a")], windows=[Window("w", [(0, 2), (100, 200)])])
        assert run(plan).finish == 111


class TestKeepsAndSkips:
    def test_a_kept_pool_is_busy_until_its_giver_ends(self):
        steps = [
            Step("move in", work=2, needs={"gang": 1}, keeps=["gang"]),
            Step("panel", work=10, after=["move in"]),
            Step("move out", work=2, after=["panel"], gives=[Give("gang", 1, "move in")]),
            Step("other", work=1, needs={"gang": 1}, date=1),
        ]
        assert started(Plan(steps, pools=[Pool("gang", 1)]), "other") == [14]

    def test_if_the_taker_was_skipped_nothing_is_given(self):
        steps = [
            Step("take", needs={"gang": 1}, keeps=["gang"], skip="broken"),
            Step("give", after=["take"], gives=[Give("gang", 1, "take")], skip="broken"),
            Step("one", work=5, after=["give"], needs={"gang": 1}),
            Step("two", work=5, after=["give"], needs={"gang": 1}),
        ]
        plan = Plan(steps, pools=[Pool("gang", 1)])
        assert started(plan, "one", "two", draw=skipping(plan, "take", "give")) == [0, 5]

    def test_a_skipped_step_passes_at_once_without_date_window_or_needs(self):
        steps = [
            Step("before", work=4),
            Step(
                "maybe",
                work=50,
                after=["before"],
                date=99,
                window="day",
                mode="work",
                needs={"gang": 1},
                skip="ok",
            ),
            Step("after", work=1, after=["maybe"]),
        ]
        plan = Plan(steps, pools=[Pool("gang", 1)], windows=[DAYS])
        diary = run(plan, skipping(plan, "maybe"))
        assert [diary.started_at("maybe"), diary.finished_at("maybe"), diary.started_at("after")] == [4, 4, 4]
        assert run(plan).finished_at("maybe") == 470

    def test_keeping_one_pool_while_asking_for_another_both_ways_is_refused(self):
        def hold(name, first, second):
            return [
                Step(f"{name} takes", needs={first: 1}, keeps=[first]),
                Step(f"{name} works", work=1, after=[f"{name} takes"], needs={second: 1}),
                Step(f"{name} gives", after=[f"{name} works"], gives=[Give(first, 1, f"{name} takes")]),
            ]

        steps = [*hold("A", "gang", "hoist"), *hold("B", "hoist", "gang")]
        with pytest.raises(PlanError) as error:
            Plan(steps, pools=[Pool("gang", 1), Pool("hoist", 1)])
        assert "this can lock for ever: 'A takes' keeps gang while 'A works' asks for hoist, " in str(
            error.value
        )
        assert "'B takes' keeps hoist while 'B works' asks for gang" in str(error.value)

    def test_asking_for_more_of_the_pool_one_keeps_is_refused(self):
        steps = [
            Step("takes", needs={"gang": 1}, keeps=["gang"]),
            Step("more", work=1, after=["takes"], needs={"gang": 1}),
            Step("gives", after=["more"], gives=[Give("gang", 1, "takes")]),
        ]
        with pytest.raises(PlanError, match="'takes' keeps gang while 'more' asks for gang"):
            Plan(steps, pools=[Pool("gang", 3)])

    def test_a_hold_that_waits_for_an_outside_user_of_its_pool_is_warned_of(self):
        steps = [
            Step("outside", work=1, needs={"gang": 1}),
            Step("takes", needs={"gang": 1}, keeps=["gang"]),
            Step("gives", after=["takes", "outside"], gives=[Give("gang", 1, "takes")]),
        ]
        (warning,) = Plan(steps, pools=[Pool("gang", 1)]).warnings
        assert warning.startswith("'takes' keeps gang until 'gives' ends, which waits for 'outside'")


class TestUnitsComeAndGo:
    def test_a_dated_step_without_taker_brings_a_unit(self):
        steps = [Step("arrives", date=30, gives=[Give("hoist", 1)]), Step("trip", work=5, needs={"hoist": 1})]
        assert started(Plan(steps, pools=[Pool("hoist", 0)]), "trip") == [30]

    def test_a_breakdown_takes_the_unit_when_its_job_ends_and_never_holds_the_finish(self):
        steps = [
            Step("trip 1", work=10, needs={"hoist": 1}, rank=1),
            Step("trip 2", work=10, needs={"hoist": 1}, rank=2),
            Step("repair", work=100, needs={"hoist": 1}, date=4, rank=-1, optional=True),
        ]
        diary = run(Plan(steps, pools=[Pool("hoist", 1)]))
        assert [diary.started_at(n) for n in ("trip 1", "repair", "trip 2")] == [0, 10, 110]
        lonely = run(Plan([steps[0], steps[2]], pools=[Pool("hoist", 1)]))
        assert lonely.finish == 10

    def test_a_unit_that_leaves_is_taken_for_good(self):
        steps = [
            Step("leaves", needs={"hoist": 1}, keeps=["hoist"], date=10, rank=-1, optional=True),
            Step("trip", work=1, needs={"hoist": 1}, date=12),
        ]
        diary = run(Plan(steps, pools=[Pool("hoist", 1)], horizon=1000))
        assert diary.finish is None
        assert diary.unfinished == ["trip"]


class TestTheHorizon:
    def test_what_has_not_ended_by_the_horizon_never_does(self):
        steps = [Step("a", work=60), Step("b", work=60, after=["a"]), Step("c", after=["b"])]
        diary = run(Plan(steps, horizon=100))
        assert diary.finished.tolist() == [60, -1, -1]
        assert (diary.started_at("b"), diary.finish, diary.unfinished) == (60, None, ["b", "c"])

    def test_an_end_on_the_horizon_counts(self):
        assert run(Plan([Step("a", work=100)], horizon=100)).finish == 100


class TestEnablers:
    def enablers(self, plan):
        diary = run(plan)
        return {name: int(diary.enabler[i]) for i, name in enumerate(plan.names)}

    def test_the_last_predecessor_enables_and_of_one_minute_the_highest_number(self):
        steps = [Step("a", work=5), Step("b", work=5), Step("c", work=4), Step("d", after=["b", "a", "c"])]
        assert self.enablers(Plan(steps))["d"] == 1

    def test_a_date_that_comes_last_enables(self):
        steps = [Step("a", work=5), Step("b", after=["a"], date=9), Step("c", after=["a"], date=5), Step("d")]
        assert self.enablers(Plan(steps)) == {"a": -3, "b": -2, "c": 0, "d": -3}

    def test_the_last_giver_enables_whoever_was_short(self):
        steps = [Step("a", work=5, needs={"x": 1}), Step("b", work=1, needs={"x": 1}, rank=1)]
        assert self.enablers(Plan(steps, pools=[Pool("x", 1)]))["b"] == 0

    def test_waiting_for_a_window_alone_leaves_the_enabler_as_it_was(self):
        steps = [Step("a", work=5), Step("b", work=1, after=["a"], window="day", mode="start")]
        assert self.enablers(Plan(steps, windows=[DAYS]))["b"] == 0

    def test_who_stood_behind_a_head_owes_the_start_to_the_heads_enabler(self):
        steps = [
            Step("busy", work=10, needs={"a": 1}),
            Step("head", work=9, needs={"a": 1}, rank=1, date=1),
            Step("behind", work=1, needs={"b": 1}, rank=2, date=2),
        ]
        plan = Plan(steps, pools=[Pool("a", 1, line="gate"), Pool("b", 1, line="gate")])
        assert self.enablers(plan)["behind"] == 0


class TestPins:
    def going_on(self, plan, *, at, **seen):
        """Started and finished of each step. seen : (began, ended, left) by name."""
        rows = [seen.get(name, (-1, -1, -1)) for name in plan.names]
        pins = Pins(*np.array(rows, dtype=np.int64).T, data_date_min=at)
        diary = run(resumed(plan, at), replace(as_planned(plan), pins=pins))
        return list(zip(diary.started.tolist(), diary.finished.tolist(), strict=True))

    def test_what_was_seen_asks_no_date_no_window_and_no_pool(self):
        steps = [Step("a", work=50, date=30, needs={"x": 2}, window="day", mode="start")]
        plan = Plan([*steps, Step("b", needs={"x": 2})], pools=[Pool("x", 2)], windows=[DAYS])
        assert self.going_on(plan, at=20, a=(3, 9, -1)) == [(3, 9), (20, 20)]

    def test_a_pool_below_nothing_lets_nobody_start_until_it_is_repaid(self):
        """Three hold two units at minute 10: d needs one, and starts when two of them are back."""
        plan = Plan([Step(name, work=9, needs={"x": 1}) for name in "abcd"], pools=[Pool("x", 2)])
        held = {name: (0, -1, left) for name, left in (("a", 5), ("b", 12), ("c", 30))}
        assert self.going_on(plan, at=10, **held) == [(0, 15), (0, 22), (0, 40), (22, 31)]

    def test_what_is_left_passes_from_the_data_date_on_by_the_mode(self):
        steps = [
            Step(name, work=99, window="day", mode=mode) for name, mode in (("a", "work"), ("b", "start"))
        ]
        plan = Plan(steps, windows=[DAYS])
        # Minute 730 lies in the break from 720 to 750: work waits for its end, a lift does not.
        assert self.going_on(plan, at=730, a=(700, -1, 10), b=(700, -1, 10)) == [(700, 760), (700, 740)]

    def test_nothing_else_that_needs_a_pool_or_a_window_starts_before_the_data_date(self):
        steps = [
            Step("pool", needs={"x": 1}),
            Step("window", window="day", mode="work", work=1),
            Step("cures", work=9),
        ]
        plan = Plan([*steps, Step("after", after=["cures"])], pools=[Pool("x", 1)], windows=[DAYS])
        assert self.going_on(plan, at=500) == [(500, 500), (500, 501), (0, 9), (9, 9)]

    def test_the_free_wait_in_the_order_in_which_they_came(self):
        """While a holds the gang b comes at 7, c at 3: with dates raised to 10, b would be served first."""
        gang = {"gang": 1}
        steps = [
            Step("a", work=20, needs=gang),
            *(Step(n, work=5, needs=gang, date=d) for n, d in (("b", 7), ("c", 3))),
        ]
        plan = Plan(steps, pools=[Pool("gang", 1, order="first come")])
        assert self.going_on(plan, at=10, a=(0, -1, 10)) == [(0, 20), (25, 30), (20, 25)]
