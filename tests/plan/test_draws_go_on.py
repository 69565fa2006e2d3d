"""Trials that go on from what a site has shown: whatever chance draws, they keep what was seen."""

from __future__ import annotations

import numpy as np
import pytest

from support import wharf_in_small as small
from support.perfect_diary import seen_perfectly
from towerpace import run
from towerpace.answers.prepare import prepare
from towerpace.draws import Chooser
from towerpace.plan.chance import Known
from towerpace.plan.pins import resumed
from towerpace.scenario import load

TRUTH, SEED = 7, 1
DAYS = (25, 60, 90, 120)


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    return prepare(load(small.write(tmp_path_factory.mktemp("small"))))


@pytest.fixture(scope="module")
def truth(site):
    draw = site.chooser.draw(SEED, TRUTH)
    return draw, run(site.tower.plan, draw)


def seen_of(site, truth, at):
    """All that a perfect diary tells of a trial up to a minute."""
    return seen_perfectly(site, *truth, of=(SEED, TRUTH), at=at)


def going_on(site, seen):
    plan = resumed(site.tower.plan, seen.data_date_min)
    return Chooser(plan, site.tower.laws, site.chooser.weather, Known(seen=seen))


@pytest.mark.parametrize("day", DAYS)
def test_every_trial_keeps_what_was_seen_and_draws_the_rest(site, truth, day):
    seen = seen_of(site, truth, day * 1440 + 600)
    chooser = going_on(site, seen)
    finishes = set()
    for trial in range(6):
        draw = chooser.draw(SEED, trial)
        diary = run(chooser.plan, draw)
        assert not draw.skip[seen.begun].any()
        assert diary.started[seen.begun].tolist() == seen.began[seen.begun].tolist()
        assert diary.finished[seen.done].tolist() == seen.ended[seen.done].tolist()
        running = seen.begun & ~seen.done
        assert (diary.finished[running] > seen.data_date_min).all()
        waits = (np.diff(chooser.plan.needs.start) > 0) | (chooser.plan.window >= 0)
        later = waits & ~seen.begun & (diary.started >= 0) & ~draw.skip
        assert (diary.started[later] >= seen.data_date_min).all()
        finishes.add(diary.finish)
    assert len(finishes) == 6
