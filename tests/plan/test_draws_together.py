"""Trials drawn side by side are those drawn one by one, bit by bit, whatever the plan has of laws."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from support import wharf_in_small as small
from towerpace.answers.bid.sources_of_spread import sources_of, without
from towerpace.answers.prepare import prepare
from towerpace.draws import Chooser, Draw
from towerpace.plan.chance import MINUTES, NOTHING_KNOWN, DrawnTogether, Law
from towerpace.plan.laws import StretchLaw
from towerpace.scenario import load

BASES = {"as the demo": {}, "in other ways": small.OTHER_WAYS}
RUNS = (range(3, 8), range(2), range(2**40, 2**40 + 5))


@pytest.fixture(scope="module", params=list(BASES))
def ready(request, tmp_path_factory):
    path = small.write(tmp_path_factory.mktemp("small"))
    return prepare(load(path, BASES[request.param]))


def unlike(one: Draw, other: Draw) -> list[str]:
    """Names of what differs between two draws."""
    pairs = {word: (getattr(one, word), getattr(other, word)) for word in ("work", "date", "skip")}
    pairs["hours"] = one.hours.gust_m_s, other.hours.gust_m_s
    return [word for word, pair in pairs.items() if not np.array_equal(*pair)]


def unlike_together(chooser: Chooser) -> list[tuple[int, list[str]]]:
    """Trials that are not what they are alone, in room that other trials had before."""
    into, found = DrawnTogether.room_for(5, chooser.plan.n), []
    for trials in RUNS:
        pairs = zip(trials, chooser.draws(6, trials, into=into), strict=True)
        found += [(trial, unlike(own, chooser.draw(6, trial))) for trial, own in pairs]
    return [(trial, words) for trial, words in found if words]


def test_draws_together_are_those_one_by_one(ready):
    assert unlike_together(ready.chooser) == []


def test_so_are_those_without_a_source_of_spread(ready):
    apart = {source: unlike_together(without(ready, [source])) for source in sources_of(ready)}
    assert {source: found for source, found in apart.items() if found} == {}


def test_laws_draw_many_trials_at_once_but_for_panels_that_are_gathered(ready):
    """Which replacements go together on one visit is decided trial by trial."""
    laws = [*ready.chooser.laws, *without(ready, [MINUTES]).laws]
    one_by_one = [law for law in laws if not law.takes_many(NOTHING_KNOWN)]
    assert any(isinstance(law, StretchLaw) for law in laws)
    assert all(law.gathered is not None for law in one_by_one)


@dataclass(frozen=True)
class Asking(Law):
    """Asks for a generator, and says that it takes many trials or not."""

    many: bool

    def apply(self, into, streams, known):  # noqa: ARG002  one interface
        into.work[0] = streams("anything").integers(0, 2**31)

    def takes_many(self, known):  # noqa: ARG002  one interface
        return self.many


def test_a_law_that_asks_for_a_generator_is_asked_trial_by_trial(ready):
    assert unlike_together(Chooser(ready.tower.plan, (Asking(many=False),), ready.chooser.weather)) == []


def test_many_trials_lend_no_generator(ready):
    chooser = Chooser(ready.tower.plan, (Asking(many=True),), None)
    with pytest.raises(TypeError, match="anything: many trials have no generator in common"):
        chooser.draws(1, range(3), into=DrawnTogether.room_for(3, ready.tower.plan.n))
