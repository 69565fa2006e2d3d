"""Players against the answers that commands give of the same changes and seed."""

import numpy as np
import pytest

from support import wharf_in_small
from towerpace import load
from towerpace.answers.choice import compare as answers
from towerpace.answers.why.explain import explain
from towerpace.scenario.setups import base_of, changed
from towerpace.workbench.collected import Collected
from towerpace.workbench.holds import CHAINS_OF, holds_json
from towerpace.workbench.messages import Begun, Held, Hours, Question, Refused, Trials
from towerpace.workbench.player import HOURS_OF, Player

SEED, UPTO = 3, 40
CHANGES = {"resource.panel_gang.count": 1, "limit.flat_lift.wind_above_m_s": 8.1}


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return str(wharf_in_small.write(tmp_path_factory.mktemp("wharf")))


def told_by(players, question):
    """Trials of file and of changes, with the hours of both, as the desk would collect them."""
    trials = {True: Collected(), False: Collected()}
    for number, player in enumerate(players):
        for told in player.answer(question):
            if isinstance(told, Trials):
                trials[told.of_file].add(told.values)
            elif isinstance(told, Hours):
                trials[told.of_file].add_hours(number, told)
    return trials[True], trials[False]


@pytest.fixture(scope="module")
def compared(path):
    base = load(path)
    return answers.compare([base_of(base), changed(base, "now", CHANGES)], trials=UPTO, seed=SEED)


def test_two_players_give_the_numbers_of_compare(path, compared):
    players = [Player(path, seed=SEED, place=k, of=2) for k in range(2)]
    file, own = told_by(players, Question(1, 1, 0, CHANGES, UPTO))
    for collected, variant in zip((file, own), compared, strict=True):
        ours, theirs = collected.first(UPTO), variant.forecast.outcomes.values
        for name in ("finish", "closing_in", "done", "once_begun", "once_done"):
            assert np.array_equal(ours[name], theirs[name]), name


def test_hours_are_those_of_the_ledger(path, compared):
    """The forecast adds up the ledger of all its trials: of 40 less the first 20 those between remain."""
    player = Player(path, seed=SEED, place=0, of=1)
    file, own = told_by([player], Question(1, 1, 0, CHANGES, UPTO))
    base = load(path)
    first = answers.compare([base_of(base), changed(base, "now", CHANGES)], trials=HOURS_OF.start, seed=SEED)
    for collected, whole, early in zip((file, own), compared, first, strict=True):
        hours = collected.hours(1)
        between = whole.forecast.outcomes.sums["ledger"] - early.forecast.outcomes.sums["ledger"]
        assert hours.trials == UPTO - HOURS_OF.start
        assert np.array_equal(hours.minutes, between)


def test_changes_taken_back_give_the_trials_of_the_file(path):
    player = Player(path, seed=SEED, place=0, of=1)
    told_by([player], Question(1, 1, 0, CHANGES, 5))
    _, same = told_by([player], Question(2, 2, 0, {"resource.panel_gang.count": 2}, 5))
    file, _ = told_by([Player(path, seed=SEED, place=0, of=1)], Question(1, 1, 0, {}, 5))
    assert np.array_equal(same.first(5)["finish"], file.first(5)["finish"])


def test_a_question_that_goes_on_is_played_on(path):
    player = Player(path, seed=SEED, place=0, of=1)
    told_by([player], Question(1, 1, 0, CHANGES, 5))
    bits = [told for told in player.answer(Question(2, 1, 0, CHANGES, 10)) if isinstance(told, Trials)]
    assert sorted(k for told in bits if not told.of_file for k in told.values) == [5, 6, 7, 8, 9]


def test_a_question_left_in_between_loses_no_trial(path):
    """Trials that were played but not told are told when the question is asked again."""
    player, question = Player(path, seed=SEED, place=0, of=1), Question(1, 1, 0, CHANGES, 8)
    for told in player.answer(question):
        if told is None:
            break
    file, own = told_by([player], question)
    assert (file.n, own.n) == (8, 8)


def test_changes_that_cannot_be_run_are_refused_with_their_faults(path):
    player = Player(path, seed=SEED, place=0, of=1)
    bits = list(player.answer(Question(4, 1, 0, {"resource.panel_gang.count": 0}, 5)))
    assert isinstance(bits[-1], Refused)
    assert bits[-1].generation == 4
    assert "panel_gang" in bits[-1].faults[0]


def test_a_raised_limit_bears_its_banner(path):
    player = Player(path, seed=SEED, place=0, of=1)
    changes = {"limit.flat_lift.wind_above_m_s": 11.0}
    begun = [told for told in player.answer(Question(1, 1, 0, changes, 1)) if isinstance(told, Begun)]
    assert "WIND LIMIT RAISED in what you changed" in begun[-1].banners[0]


def test_steps_that_change_are_announced_before_their_plan_is_written(path):
    player = Player(path, seed=SEED, place=0, of=1)
    list(player.answer(Question(1, 1, 0, {}, 1)))
    number = player.answer(Question(2, 2, 0, {"resource.panel_gang.count": 1}, 1))
    steps = player.answer(Question(3, 3, 0, {"resource.floor_crane.count": 3}, 1))
    assert not next(number).building
    assert next(steps).building


def test_what_holds_the_finish_is_what_explain_says(path):
    player = Player(path, seed=SEED, place=0, of=1)
    *_, last = player.answer(Question(1, 1, 0, CHANGES, 2))
    why = explain(load(path, CHANGES), trials=CHAINS_OF, seed=SEED)
    assert isinstance(last, Held)
    assert (last.finished, last.rows, last.causes) == (why.finished, why.rows, why.causes)
    assert np.array_equal(last.minutes, why.outcomes.values["held"].sum(axis=0))
    said = holds_json(last, load(path, CHANGES))
    assert said["text"].startswith("The controlling chain takes")
    assert sum(row["days"] for row in said["causes"]) == pytest.approx(why.held_days.sum(), abs=1)


def test_hours_are_told_where_a_question_was_left_right_before_them(path):
    """A newer question may come between the last trials and their hours; the next is told both."""
    player = Player(path, seed=SEED, place=0, of=1)
    for told in player.answer(Question(1, 1, 0, CHANGES, 25)):
        if isinstance(told, Trials) and max(told.values) == 24:
            break
    hours = [told for told in player.answer(Question(2, 1, 0, CHANGES, 25)) if isinstance(told, Hours)]
    assert sorted(told.of_file for told in hours) == [False, True]
    assert {told.trials for told in hours} == {25 - HOURS_OF.start}
