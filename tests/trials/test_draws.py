"""Streams against numpy's generators made the plain way; draws that do not fit; what a worker is sent."""

import pickle
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path

import numpy as np
import pytest

from towerpace import Plan, Step
from towerpace.answers.prepare import prepare
from towerpace.draws import Chooser, Draw, as_planned, stream
from towerpace.lots.streams import Streams
from towerpace.plan.chance import Drawn, Known, Law
from towerpace.scenario import load

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def plain(seed: int, trial: int, purpose: str) -> np.random.Generator:
    """The same stream with key and counter given to Philox by its own parameters."""
    digest = blake2b(f"{seed}/{purpose}".encode(), digest_size=16).digest()
    key, counter = int.from_bytes(digest, "little"), trial << 128
    return np.random.Generator(np.random.Philox(key=key, counter=counter))


def test_a_stream_is_philox_under_its_key_with_the_trial_in_the_counter():
    for purpose in ("weather", "setting a panel", ""):
        mine, numpys = stream(1, 2, purpose), plain(1, 2, purpose)
        assert np.array_equal(mine.random(1001), numpys.random(1001))
        assert np.array_equal(mine.standard_normal(77), numpys.standard_normal(77))
        assert np.array_equal(mine.integers(0, 9, 5), numpys.integers(0, 9, 5))
        assert str(mine.bit_generator.state) == str(numpys.bit_generator.state)


def test_two_streams_held_at_once_do_not_disturb_each_other():
    one, other, later = stream(1, 2, "a"), stream(1, 2, "b"), stream(1, 3, "a")
    mixed = [(one.random(), other.random(), later.random()) for _ in range(9)]
    alone = [plain(1, 2, "a"), plain(1, 2, "b"), plain(1, 3, "a")]
    assert np.array_equal(mixed, np.column_stack([rng.random(9) for rng in alone]))


@dataclass(frozen=True)
class OneNumber(Law):
    """Writes the first two whole numbers of its purpose, the second from the half that numpy keeps back."""

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:  # noqa: ARG002  one interface
        rng = streams("whole")
        into.work[:2] = rng.integers(0, 2**31, 2, dtype=np.int32)
        into.work[2] = rng.integers(0, 2**31, dtype=np.int32)


def test_what_a_trial_draws_does_not_depend_on_the_trials_before_it():
    """Generators are lent from trial to trial: three halves of 64 bits leave one behind, which must go."""
    chooser = Chooser(PLAN, (OneNumber(),), None)
    for seed, trial in ((1, 0), (1, 5), (2, 0), (1, 5), (1, 0), (1, 2**40)):
        expected = plain(seed, trial, "whole").integers(0, 2**31, 3, dtype=np.int32)
        assert np.array_equal(chooser.draw(seed, trial).work[:3], expected)


PLAN = Plan([Step("free"), Step("a", skip="x"), Step("b", skip="y"), Step("c", skip="x")])


def skipping(*skip: int) -> Draw:
    return Draw(PLAN.work, PLAN.date, np.array(skip, dtype=np.bool_))


@pytest.mark.parametrize("skip", [(0, 0, 0, 0), (0, 1, 0, 1), (0, 0, 1, 0), (0, 1, 1, 1)])
def test_steps_of_one_flag_are_skipped_together(skip):
    skipping(*skip).check(PLAN)


@pytest.mark.parametrize("skip", [(0, 1, 0, 0), (0, 0, 0, 1), (0, 1, 1, 0), (0, 0, 1, 1)])
def test_a_flag_of_which_only_some_steps_are_skipped_is_refused(skip):
    with pytest.raises(ValueError, match="together or not at all"):
        skipping(*skip).check(PLAN)


@pytest.mark.parametrize("skip", [(1, 0, 0, 0), (1, 1, 0, 0), (1, 1, 1, 1)])
def test_a_skipped_step_without_a_flag_is_refused(skip):
    with pytest.raises(ValueError, match="skips a step that carries no flag"):
        skipping(*skip).check(PLAN)


def test_a_changed_plan_is_checked_by_its_own_flags():
    skipping(0, 1, 0, 1).check(PLAN)
    changed = PLAN.changed(flag=np.array([-1, 0, 0, 1]))
    skipping(0, 1, 1, 0).check(changed)
    with pytest.raises(ValueError, match="together or not at all"):
        skipping(0, 1, 0, 1).check(changed)


def test_minutes_below_0_and_arrays_of_another_length_are_refused():
    planned = as_planned(PLAN)
    with pytest.raises(ValueError, match="work must be >= 0 min"):
        Draw(planned.work - 1, planned.date, planned.skip).check(PLAN)
    with pytest.raises(ValueError, match=r"skip has shape \(3,\), the plan needs \(4,\)"):
        Draw(planned.work, planned.date, planned.skip[1:]).check(PLAN)


def test_what_laws_prepare_is_not_sent_to_workers_and_made_again_there():
    chooser = prepare(load(SCENARIOS / "one_trade" / "scenario.toml")).chooser
    fresh = len(pickle.dumps(chooser.laws))
    drawn = chooser.draw(1, 0)
    assert len(pickle.dumps(chooser.laws)) == fresh
    there = pickle.loads(pickle.dumps(chooser)).draw(1, 0)
    assert np.array_equal(there.work, drawn.work)
    assert np.array_equal(there.date, drawn.date)
    assert np.array_equal(there.skip, drawn.skip)
