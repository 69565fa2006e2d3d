"""Set-ups that share their steps and their draws are played one after the other; their numbers stay."""

import numpy as np
import pytest

import towerpace
from support.open_tower import write_open_tower
from towerpace.answers.choose.keeping import Kept
from towerpace.answers.choose.open_setups import open_setups
from towerpace.answers.choose.played import Played
from towerpace.plan.site import tower
from towerpace.plan.site.writing import write


@pytest.fixture(scope="module")
def opened(tmp_path_factory):
    return open_setups(towerpace.load(write_open_tower(tmp_path_factory.mktemp("open"))))


class _Noted(Kept):
    """Notes in which order set-ups are played."""

    def __init__(self):
        super().__init__(None, of={})
        self.order = []

    def add(self, changes, part):
        self.order.append(dict(changes))
        super().add(changes, part)


def test_what_has_other_steps_or_other_draws_is_known(opened):
    """Each crane has a place of its own; hoists, slots and hours are numbers that nobody draws."""
    apart = {opened.decided[number].name for number in opened.drawn_apart}
    assert apart == {"crews"}
    assert open_setups(opened.scenario, is_planned=False).drawn_apart == frozenset()


def test_set_ups_are_played_by_their_steps_and_the_numbers_do_not_depend_on_it(opened):
    rng = np.random.Generator(np.random.PCG64(4))
    points = list(opened.space.all())
    points = [points[k] for k in rng.permutation(len(points))[:12]]
    noted = _Noted()
    together = Played(opened, seed=3, kept=noted).results(points, [10] * len(points), fresh=False)
    crews = [changes.get("resource.panel_gang.count") for changes in noted.order]
    assert len(crews) == len(points)
    begun = [count for k, count in enumerate(crews) if k == 0 or count != crews[k - 1]]
    assert len(begun) == len(set(crews)) == 3
    for point, sample in zip(points, together, strict=True):
        (alone,) = Played(opened, seed=3, kept=Kept(None, of={})).results([point], [10], fresh=False)
        assert np.array_equal(sample.finish, alone.finish)
        assert np.array_equal(sample.cost, alone.cost)


def test_so_many_plans_are_kept_as_have_room(opened, monkeypatch):
    """Twelve structures of one tower: the last six whatever their size, more while their steps have room."""
    written = [write(opened.setup((k % 3, 0, 0, 0)).scenario) for k in range(12)]
    steps = written[0].plan.n
    monkeypatch.setattr(tower, "STEPS_KEPT", 1)
    assert tower._within_room(written) == written[: tower.WRITTEN_KEPT]
    monkeypatch.setattr(tower, "STEPS_KEPT", 20 * steps)
    assert tower._within_room(written) == written
    least = sum(one.plan.n for one in written[:9])
    monkeypatch.setattr(tower, "STEPS_KEPT", least)
    assert tower._within_room(written) == written[:9]
