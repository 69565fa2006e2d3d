"""What is kept of many trials against the arrays themselves."""

import pickle

import numpy as np
import pytest

from towerpace.trials.kept import Kept
from towerpace.trials.outcome import Outcome, Pile

NEVER = np.iinfo(np.int64).max
EDGES = [0, 1, -1, 2**31 - 2, 2**31 - 1, 2**31, -(2**31), 1 - 2**31, NEVER, NEVER - 1, -NEVER - 1]


def random_arrays(rng: np.random.Generator, n: int) -> dict[str, np.ndarray]:
    few = rng.integers(0, 9, (n, 3, 5)) * (rng.random((3, 5)) < 0.3)
    odd = rng.choice(EDGES, (n, 4))
    return {"single": rng.integers(0, 10**6, n), "few": few, "odd": odd, "none": np.zeros((n, 2), np.int64)}


@pytest.mark.parametrize("seed", range(20))
def test_what_is_kept_comes_back_number_for_number(seed):
    rng = np.random.default_rng(seed)
    parts = [random_arrays(rng, int(n)) for n in rng.integers(1, 60, 4)]

    first, *others = map(Kept.of, parts)
    kept = pickle.loads(pickle.dumps(first.then(*others)))

    assert list(kept) == list(parts[0])
    for name in kept:
        assert kept[name].dtype == np.int64
        assert np.array_equal(kept[name], np.concatenate([part[name] for part in parts]))


@pytest.mark.parametrize("edge", EDGES)
def test_a_number_at_the_edge_of_32_bits_is_kept(edge):
    numbers = np.array([[0, 7], [edge, 5]])
    assert np.array_equal(Kept.of({"x": numbers})["x"], numbers)


@pytest.mark.parametrize("n", [1, 49, 50, 51, 100, 101])
def test_a_pile_keeps_every_trial_in_its_place(n):
    pile = Pile()
    for trial in range(n):
        pile.add(Outcome({"trial": np.int64(trial), "row": np.array([trial, 0])}, {"sum": np.array([trial])}))
    outcomes = pile.outcomes()
    assert outcomes.n == pile.n == n
    assert outcomes.values["trial"].tolist() == list(range(n))
    assert outcomes.values["row"].tolist() == [[trial, 0] for trial in range(n)]
    assert outcomes.sums["sum"].tolist() == [n * (n - 1) // 2]


def test_what_is_kept_of_a_trial_is_what_happened_in_it():
    """Of a thousand columns of which ten are ever filled, ten are kept, in 32 bits."""
    numbers = np.zeros((100, 1000), dtype=np.int64)
    numbers[:, ::100] = 5
    assert len(pickle.dumps(Kept.of({"x": numbers}))) < 100 * 10 * 4 + 500
