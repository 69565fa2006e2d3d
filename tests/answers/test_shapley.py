"""Sampled Shapley means against games whose values are known in closed form."""

import pytest

from towerpace.answers.bid.shapley import groups_of, sampled_orders, shares

DAYS = {"wind": 9.0, "pace": 6.0, "trucks": 3.0}


def test_what_adds_up_has_its_own_days_in_every_order():
    orders = sampled_orders(list(DAYS), 5, seed=1)

    for share in shares(orders, lambda group: sum(DAYS[s] for s in group)):
        assert share.mean == pytest.approx(DAYS[share.source])
        assert share.error == pytest.approx(0, abs=1e-9)


def test_of_the_later_of_several_the_longest_pays_what_it_has_beyond_the_others():
    """The airport game: 3 / 3, then 3 / 3 + 3 / 2, then 3 / 3 + 3 / 2 + 3.

    Source: Littlechild & Owen (1973), A simple expression for the Shapley value in a special case,
    Management Science 20(3): 370-372 (from memory).
    """
    exact = {"trucks": 1.0, "pace": 2.5, "wind": 5.5}
    orders = sampled_orders(list(DAYS), 400, seed=1)
    sampled = shares(orders, lambda group: max((DAYS[s] for s in group), default=0.0))

    assert sum(share.mean for share in sampled) == pytest.approx(9)
    for share in sampled:
        assert 0 < share.error < 0.3
        assert abs(share.mean - exact[share.source]) < 4 * share.error


def test_a_group_is_played_once_however_many_orders_begin_with_it():
    groups = groups_of([("a", "b", "c"), ("a", "c", "b"), ("b", "a", "c")])

    assert set(groups) == {frozenset(g) for g in ("a", "ab", "ac", "b")}
    assert len(groups) == 4
