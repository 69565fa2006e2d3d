"""What is played: how trials are drawn, and what is wanted of them."""

from __future__ import annotations

from dataclasses import dataclass, field

from towerpace.draws import Chooser
from towerpace.engine.names import EngineName, engine_asked
from towerpace.trials.outcome import Measure


@dataclass(frozen=True)
class Job:
    """What a trial needs: how it is drawn, the seed, and what is wanted of it.

    one_of_many : whether other set-ups are played under the same seed in the same process, so that what they
        share is drawn once.
    engine : which plays the trials, by default that of the question (`played_by`); the numbers do not depend
        on it.
    """

    chooser: Chooser
    measure: Measure
    seed: int
    one_of_many: bool = False
    engine: EngineName = field(default_factory=engine_asked)
