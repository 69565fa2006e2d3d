"""One trial played once more, to be looked at step by step: the same draw gives the same diary."""

from __future__ import annotations

from dataclasses import dataclass

from towerpace.answers.prepare import Prepared
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.engine.reference import run


@dataclass(frozen=True)
class PlayedTrial:
    """One trial with all that it was played from."""

    ready: Prepared
    trial: int
    draw: Draw
    openings: Openings
    diary: Diary


def replay(ready: Prepared, *, seed: int, trial: int) -> PlayedTrial:
    """Play one trial."""
    plan = ready.tower.plan
    draw = ready.chooser.draw(seed, trial)
    openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
    return PlayedTrial(ready, trial, draw, openings, run(plan, draw, openings=openings))
