"""What a results folder says of the run it came from."""

from __future__ import annotations

import platform
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from importlib.metadata import version

from towerpace import __version__
from towerpace.answers.forecast import Forecast
from towerpace.plan.site.tower import Tower
from towerpace.render.cautions import cautions_of
from towerpace.render.tables.portable import portable, portable_command
from towerpace.scenario.load import Scenario

FORMAT = 1
_PACKAGES = ("simpy", "numpy", "pandas", "networkx", "scipy", "matplotlib", "pydantic")


@dataclass(frozen=True)
class Manifest:
    """The manifest of a results folder, field by field as in `manifest.json`.

    scenario, path, hash : name of the tower, file as the user named it, SHA-256 of the content.
    trials_asked, trials : trials asked for and finished.
    start_date, horizon_date : first and last day of the clock, ISO.
    levels, zones : how many. files : everything in the folder besides the manifest.
    """

    format: int
    scenario: str
    path: str
    hash: str
    seed: int
    trials_asked: int
    trials: int
    start_date: str
    horizon_date: str
    levels: int
    zones: int
    version: str
    python: str
    packages: Mapping[str, str]
    command: str
    created_utc: str
    cautions: Sequence[str]
    files: Sequence[str]

    @property
    def fronts(self) -> int:
        """Fronts of one trade."""
        return self.levels * self.zones


@dataclass(frozen=True)
class Run:
    """What a manifest is made from: a scenario, its tower, and the trials asked for and finished."""

    scenario: Scenario
    tower: Tower
    seed: int
    asked: int
    trials: int


def manifest_of(forecast: Forecast, *, command: str, files: Sequence[str] = ()) -> Manifest:
    """The manifest of a forecast that is being saved now."""
    run = Run(forecast.scenario, forecast.tower, forecast.seed, forecast.asked, forecast.trials)
    return manifest_of_run(run, command=command, cautions=cautions_of(forecast), files=files)


def manifest_of_run(
    run: Run, *, command: str, cautions: Sequence[str], files: Sequence[str] = ()
) -> Manifest:
    """The manifest of results that are being saved now."""
    tower = run.tower
    last = tower.start + timedelta(days=run.scenario.settings.tower.horizon_days - 1)
    return Manifest(
        format=FORMAT,
        scenario=tower.name,
        path=portable(run.scenario.path),
        hash=run.scenario.hash,
        seed=run.seed,
        trials_asked=run.asked,
        trials=run.trials,
        start_date=tower.start.isoformat(),
        horizon_date=last.isoformat(),
        levels=len(tower.levels),
        zones=len(tower.zones),
        version=__version__,
        python=platform.python_version(),
        packages={name: version(name) for name in _PACKAGES},
        command=portable_command(command),
        created_utc=datetime.now(UTC).isoformat(timespec="seconds"),
        cautions=cautions,
        files=sorted(files),
    )
