"""Trials that go on from what a site has shown: whatever chance draws, they keep what was seen."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest

from support import wharf_in_small as small
from support.pinned import pins_of
from towerpace import run
from towerpace.answers.prepare import prepare
from towerpace.draws import Chooser, stream
from towerpace.engine.spent import spent_min
from towerpace.plan.chance import NOTHING_KNOWN, Known
from towerpace.plan.pins import resumed
from towerpace.plan.seen import Seen, held_since
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.site.mock_up import TriesLaw
from towerpace.plan.site.paces import risk_purpose
from towerpace.plan.site.risks import ChanceLaw, LateLevelLaw
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
    (draw, diary), plan = truth, site.tower.plan
    pins = pins_of(diary, draw, at)
    began, lost, risks, tries = pins.began, {}, {}, {}
    for law in site.tower.laws:
        if isinstance(law, LossLaw):
            losses = law.losses(partial(stream, SEED, TRUTH), NOTHING_KNOWN)
            for happened, chain, unfit in (
                (losses.unfit, law.unfit, True),
                (losses.broken, law.broken, False),
            ):
                told = np.flatnonzero(happened & (chain[:, 0] >= 0))
                lost |= {int(law.normal[k]): unfit for k in told.tolist() if began[chain[k, 0]] >= 0}
        elif isinstance(law, ChanceLaw) and (began[law.steps] >= 0).any():
            risks[law.risk] = True
        elif isinstance(law, LateLevelLaw) and plan.date[law.steps[0]] < at:
            risks[law.risk] = bool(stream(SEED, TRUTH, risk_purpose(law.risk)).random() < law.chance)
        elif isinstance(law, TriesLaw):
            failed = int((began[law.again[:, 0]] >= 0).sum())
            tries = {"failed_tries": failed, "passed": bool(plan_done(plan, pins, "mock_up"))}
    return Seen(
        data_date_min=at,
        began=began,
        ended=pins.ended,
        share=np.full(plan.n, np.nan),
        spent=spent_min(plan, began=began, ended=pins.ended, until=at, hours=draw.hours),
        since=held_since(plan, began=began, ended=pins.ended),
        dated=np.ones(plan.n, dtype=np.bool_),
        lost=lost,
        risks=risks,
        **tries,
    )


def plan_done(plan, pins, kind):
    steps = np.flatnonzero(plan.by_tags(lambda tags: tags.kind == kind) & plan.planned)
    return (pins.ended[steps] >= 0).all()


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
