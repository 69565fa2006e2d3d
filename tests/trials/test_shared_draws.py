"""Set-ups that differ in nothing that chance decides are drawn once in a process, and to the same numbers."""

import numpy as np
import pytest

from support import wharf_in_small as small
from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.prepare import prepare
from towerpace.plan.chance import DrawnTogether
from towerpace.scenario import load
from towerpace.trials.job import Job
from towerpace.trials.run import played
from towerpace.trials.shared_draws import SharedDraws

WORDS = ("work", "date", "skip")


@pytest.fixture(scope="module")
def ready(tmp_path_factory):
    path = small.write(tmp_path_factory.mktemp("small"))

    def with_changes(**changes):
        return prepare(load(path, {key.replace("__", "."): value for key, value in changes.items()}))

    return with_changes


def drawn(shared, chooser, trial, seed=1):
    return shared.draw(chooser, chooser.fingerprint(), seed=seed, trial=trial)


def test_a_lower_wind_limit_is_played_under_the_draws_of_the_base(ready):
    base, lower = ready().chooser, ready(limit__flat_lift__wind_above_m_s=8.0).chooser
    shared = SharedDraws()

    assert base.fingerprint() == lower.fingerprint()
    assert drawn(shared, lower, 3).work is drawn(shared, base, 3).work
    for trial in range(3):
        own, other = lower.draw(1, trial), drawn(shared, lower, trial)
        assert all(np.array_equal(getattr(own, word), getattr(other, word)) for word in WORDS)
        assert np.array_equal(own.hours.gust_m_s, other.hours.gust_m_s)


@pytest.mark.parametrize(
    "change",
    [
        {"trade__brackets__pace": 1.3},
        {"family__flat__reject_chance": 0.5},
        {"structure__slip_days": 2},
        {"mock_up__pass_chance": 0.1},
        {"activity__crown_lifts__concrete__curing_temperature_degC": 20},
    ],
)
def test_what_chance_decides_otherwise_is_drawn_anew(ready, change):
    base, other = ready().chooser, ready(**change).chooser
    assert base.fingerprint() != other.fingerprint()


def test_another_seed_is_another_draw(ready):
    shared, base = SharedDraws(), ready().chooser
    assert not np.array_equal(drawn(shared, base, 0).work, drawn(shared, base, 0, seed=2).work)


def test_a_shared_draw_cannot_be_written_into(ready):
    with pytest.raises(ValueError, match="read-only"):
        drawn(SharedDraws(), ready().chooser, 0).work[0] = 1


def test_no_more_is_kept_than_there_is_room(ready):
    shared, base = SharedDraws(room_bytes=0), ready().chooser
    assert drawn(shared, base, 0).work is not drawn(shared, base, 0).work


@pytest.mark.parametrize("room_bytes", [0, 96_000_000])
def test_trials_shared_together_are_those_shared_one_by_one(ready, room_bytes):
    """Some of them kept already, alone or together; with no room they are drawn into that of the caller."""
    chooser, shared = ready().chooser, SharedDraws(room_bytes)
    into, fingerprint = DrawnTogether.room_for(4, chooser.plan.n), chooser.fingerprint()
    drawn(shared, chooser, 3)
    for trials in (range(1, 5), range(3), range(2, 4)):
        together = shared.draws(chooser, fingerprint, seed=1, trials=trials, into=into)
        for trial, other in zip(trials, together, strict=True):
            own = chooser.draw(1, trial)
            assert all(np.array_equal(getattr(own, word), getattr(other, word)) for word in WORDS)
            is_kept = drawn(shared, chooser, trial).work is other.work
            assert is_kept is bool(room_bytes)
            assert other.work.flags.writeable is not is_kept


def test_trials_from_a_later_one_on_are_the_later_trials_of_the_whole(ready):
    for one_of_many in (False, True):
        job = Job(ready().chooser, FinishMeasure(None), 1, one_of_many=one_of_many)
        whole, rest = played(job, trials=5), played(job, trials=2, first=3)
        assert whole.values["finish"][3:].tolist() == rest.values["finish"].tolist()
