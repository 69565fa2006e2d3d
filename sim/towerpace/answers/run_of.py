"""What an answer about one scenario was made from."""

from __future__ import annotations

from datetime import timedelta

from towerpace import __version__
from towerpace.answers.portable import portable
from towerpace.answers.said.answer import Run
from towerpace.plan.site.tower import Tower
from towerpace.scenario.load import Scenario


def run_of(scenario: Scenario, tower: Tower, *, seed: int, trials: int, asked: int | None = None) -> Run:
    """The run of an answer.

    trials : finished. asked : asked for, as many if left out.
    """
    return Run(
        scenario=tower.name,
        path=portable(scenario.path),
        hash=scenario.hash,
        seed=seed,
        trials=trials,
        asked=trials if asked is None else asked,
        start=tower.start,
        last=tower.start + timedelta(days=scenario.settings.tower.horizon_days - 1),
        levels=len(tower.levels),
        zones=len(tower.zones),
        version=__version__,
    )
