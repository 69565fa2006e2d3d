"""What unfinished steps wait for, each kind on a plan small enough to see."""

import pytest

from towerpace import Plan, Pool, Step, Window
from towerpace.answers.why.unfinished import first_few, in_words, locked, roots, wait_of, waits_for
from towerpace.draws import as_planned
from towerpace.engine.reference import run


def waits(steps, *, pools=(), windows=(), horizon=1000):
    plan = Plan(steps, pools=pools, windows=windows, horizon=horizon)
    draw = as_planned(plan)
    return plan, roots(run(plan, draw), draw)


def words(*args, **kwargs):
    plan, found = waits(*args, **kwargs)
    return [in_words(wait, plan) for wait in found]


def test_nothing_waits_when_all_is_done():
    _, found = waits([Step("a", work=5)])
    assert found == []
    assert not locked(found)


def test_a_step_under_way_a_date_and_a_window_are_told_apart():
    steps = [
        Step("long", work=5000),
        Step("late", date=3000, work=1),
        Step("shut", work=5, window="morning", mode="start", date=90),
        Step("behind", after=["long"], work=1),
    ]
    assert words(steps, windows=[Window("morning", [(0, 60)])]) == [
        "long is under way when the clock ends",
        "late waits for its date, beyond the horizon",
        "shut waits for the hours of 'morning'",
    ]


def test_a_unit_kept_by_what_waits_for_its_next_user_locks_the_trial():
    """A keeps the crane until B ends, B waits for C, and C asks for the crane."""
    steps = [
        Step("A", work=10, needs={"crane": 1}, keeps=["crane"]),
        Step("C", work=10, needs={"crane": 1}, rank=1),
        Step("B", work=10, after=["A", "C"], gives=[_give("crane", "A")]),
    ]
    plan, found = waits(steps, pools=[Pool("crane", 1)])
    assert [in_words(wait, plan) for wait in found] == ["C waits for crane, kept since A"]
    assert locked(found)


def test_a_unit_that_has_left_for_good_locks_too():
    leave = Step("leave", needs={"gang": 1}, keeps=["gang"], rank=-1, optional=True)
    plan, found = waits(
        [leave, Step("late work", date=50, work=1, needs={"gang": 1})], pools=[Pool("gang", 1)]
    )
    assert [in_words(wait, plan) for wait in found] == ["late work waits for gang, of which there is no more"]
    assert locked(found)


def test_a_unit_in_use_when_the_clock_ends_does_not_lock():
    steps = [Step("a", work=5000, needs={"gang": 1}), Step("b", work=1, needs={"gang": 1}, rank=1)]
    plan, found = waits(steps, pools=[Pool("gang", 1)])
    assert [in_words(wait, plan) for wait in found] == [
        "a is under way when the clock ends",
        "b waits for gang, kept since a",
    ]
    assert not locked(found)


def test_who_stands_in_line_is_told_who_is_ahead():
    pools = [Pool("bay", 1, line="gate"), Pool("yard", 1, line="gate")]
    steps = [
        Step("first", work=5000, needs={"bay": 1}),
        Step("second", work=5, needs={"bay": 1}, rank=1, date=1),
        Step("third", work=5, needs={"yard": 1}, rank=2, date=2),
    ]
    assert words(steps, pools=pools)[1:] == [
        "second waits for bay, kept since first",
        "third stands in line behind second",
    ]


def test_a_step_behind_another_names_its_predecessor_and_an_ended_one_is_refused():
    plan = Plan([Step("a", work=5), Step("b", work=5000, after=["a"]), Step("c", after=["b"])], horizon=100)
    draw = as_planned(plan)
    diary = run(plan, draw)
    assert in_words(waits_for(diary, 2, draw=draw), plan) == "c waits for b"
    with pytest.raises(ValueError, match="'a' has ended"):
        waits_for(diary, 0, draw=draw)


def test_a_skipped_step_has_taken_nothing():
    """A flagged step that would keep the gang for ever is left out: the gang is free for the other."""
    keeper = Step("keeper", needs={"gang": 1}, keeps=["gang"], rank=-1, skip="trouble", planned=False)
    shut = Step("shut", work=5, date=90, needs={"gang": 1}, window="morning", mode="start")
    plan = Plan([keeper, shut], pools=[Pool("gang", 1)], windows=[Window("morning", [(0, 60)])], horizon=200)
    draw = as_planned(plan)
    assert [w.kind for w in roots(run(plan, draw), draw)] == ["window"]


def test_the_first_few_name_different_things_first_and_survive_as_numbers():
    steps = [Step("a", work=5000, needs={"gang": 1})]
    steps += [Step(f"b{k}", work=1, needs={"gang": 1}, rank=1 + k) for k in range(3)]
    steps.append(Step("late", date=3000, work=1))
    plan, found = waits(steps, pools=[Pool("gang", 1)])
    few = first_few(found, 3)
    assert [plan.names[wait.step] for wait in few] == ["a", "b0", "late"]
    assert [wait_of(wait.row()) for wait in few] == few


def _give(pool, taker):
    from towerpace.plan.parts import Give

    return Give(pool, 1, taker)
