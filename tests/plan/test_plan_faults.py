"""What a plan refuses, with the whole text; all faults at once."""

import pickle

import pytest

from towerpace import After, Give, Plan, Pool, Step, Window
from towerpace.plan.parts import PlanError

SHIFT = Window("day", [(0, 60)])


def faults(steps, **parts):
    with pytest.raises(PlanError) as error:
        Plan(steps, **parts)
    return error.value.faults


@pytest.mark.parametrize(
    ("step", "fault"),
    [
        (Step("a", work=-1), "work must be a whole number of minutes >= 0, got -1"),
        (Step("a", work=2.5), "work must be a whole number of minutes >= 0, got 2.5"),
        (Step("a", date=-5), "date must be a whole number of minutes >= 0, got -5"),
        (Step("a", rank=0.5), "rank must be a whole number, got 0.5"),
        (Step("a", needs={"gnag": 1}), "no pool 'gnag'; nearest: 'gang'"),
        (Step("a", needs={"gang": 0}), "needs of pool 'gang' must be a whole number >= 1, got 0"),
        (Step("a", keeps=["gang"]), "keeps 'gang' but does not need it"),
        (Step("a", after=["bb"]), "no step 'bb' to come after; nearest: 'b'"),
        (Step("a", after=[After("b", -1)]), "lag after 'b' must be a whole number of minutes >= 0, got -1"),
        (Step("a", after=[After("b", 1, "XX")]), "lag kind must be one of FS, SS, FF, SF, got 'XX'"),
        (Step("a", window="dya", mode="work"), "no window 'dya'; nearest: 'day'"),
        (Step("a", window="day"), "a window needs mode 'start', 'work' or 'unbroken'"),
        (Step("a", mode="work"), "mode 'work' needs a window"),
        (Step("a", mode="sometimes"), "mode must be one of always, start, work, unbroken, got 'sometimes'"),
        (
            Step("a", needs={"gang": 1, "quick": 1}),
            "its pools are served in different orders: gang rank, quick first come",
        ),
        (Step("a", needs={"gate 1": 1, "gate 2": 1}), "stands in one line at most, got x, y"),
        (Step("a", needs={"crane": 2}), "takes one unit of the positioned pool 'crane', got 2"),
        (Step("a", gives=[Give("gagn")]), "gives to no pool 'gagn'; nearest: 'gang'"),
        (Step("a", gives=[Give("gang", 1, "bb")]), "gives what no step 'bb' took; nearest: 'b'"),
        (Step("a", gives=[Give("crane")]), "a unit of the positioned pool 'crane' needs a taker"),
    ],
)
def test_a_faulty_step_is_named_with_what_is_wrong(step, fault):
    pools = [
        Pool("gang", 1),
        Pool("quick", 1, order="first come"),
        Pool("gate 1", 1, line="x"),
        Pool("gate 2", 1, line="y"),
        Pool("crane", 2, at=["p", "q"]),
    ]
    assert f"step 'a': {fault}" in faults([step, Step("b")], pools=pools, windows=[SHIFT])


def test_names_must_be_used_once():
    assert faults([Step("a"), Step("a")], pools=[Pool("p", 1), Pool("p", 1)]) == (
        "step 'a': the name is used 2 times",
        "pool 'p': the name is used 2 times",
    )


def test_all_faults_come_at_once():
    assert len(faults([Step("a", work=-1, after=["zz"]), Step("b", needs={"none": 1})], horizon=0)) == 4


def test_a_pool_with_places_needs_one_for_each_unit():
    assert faults([], pools=[Pool("crane", 2, at=["a"])]) == (
        "pool 'crane': 2 units need as many places, got 1",
    )


def test_shifts_must_not_overlap():
    (fault,) = faults([], windows=[Window("w", [(0, 10), (5, 20)])])
    assert fault == "window 'w': shifts must be ascending [from, to) minutes that do not overlap"


def test_more_cannot_be_given_back_than_was_taken():
    steps = [Step("take", needs={"gang": 1}), Step("give", after=["take"], gives=[Give("gang", 1, "take")])]
    assert faults(steps, pools=[Pool("gang", 1)]) == (
        "step 'take': takes 1 of pool 'gang' but 2 are given back",
    )


def test_a_need_that_no_pool_can_ever_fill_is_refused():
    steps = [Step("a", needs={"gang": 3}), Step("b", needs={"hoist": 2}), Step("c", gives=[Give("hoist", 1)])]
    assert faults(steps, pools=[Pool("gang", 2), Pool("hoist", 1)]) == (
        "step 'a': needs 3 of pool 'gang', which never has more than 2",
    )


def test_what_is_given_back_must_have_been_taken_before():
    steps = [Step("give", gives=[Give("gang", 1, "take")]), Step("take", needs={"gang": 1}, keeps=["gang"])]
    assert faults(steps, pools=[Pool("gang", 1)]) == (
        "step 'give': gives back what 'take' took, so it must come after it",
    )


def test_taker_and_giver_carry_the_same_flag():
    steps = [
        Step("take", needs={"gang": 1}, keeps=["gang"], skip="broken"),
        Step("give", after=["take"], gives=[Give("gang", 1, "take")]),
    ]
    assert faults(steps, pools=[Pool("gang", 1)]) == (
        "step 'give': gives what 'take' took, so both must carry the same skip flag",
    )


def test_a_lag_from_the_start_of_a_step_with_a_moving_unit_is_refused():
    steps = [Step("job", work=5, needs={"crane": 1}), Step("next", after=[After("job", 2, "SS")])]
    (fault,) = faults(steps, pools=[Pool("crane", 1, at=["a"])])
    assert (
        fault == "step 'job': an SS or SF lag starts here, so the move of 'crane' must be a step of its own"
    )


def test_the_error_survives_the_way_back_from_a_worker():
    error = PlanError(["one", "two"])
    assert pickle.loads(pickle.dumps(error)).faults == ("one", "two")
