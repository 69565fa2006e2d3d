"""What a results folder says of the run it came from."""

from __future__ import annotations

import platform
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from importlib.metadata import version

from towerpace import __version__
from towerpace.answers.forecast import Forecast
from towerpace.report.cautions import cautions_of
from towerpace.report.portable import portable, portable_command

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


def manifest_of(forecast: Forecast, *, command: str, files: Sequence[str] = ()) -> Manifest:
    """The manifest of a forecast that is being saved now."""
    tower = forecast.tower
    last = forecast.days.start + timedelta(days=forecast.scenario.settings.tower.horizon_days - 1)
    return Manifest(
        format=FORMAT,
        scenario=tower.name,
        path=portable(forecast.scenario.path),
        hash=forecast.scenario.hash,
        seed=forecast.seed,
        trials_asked=forecast.asked,
        trials=forecast.trials,
        start_date=forecast.days.start.isoformat(),
        horizon_date=last.isoformat(),
        levels=len(tower.levels),
        zones=len(tower.zones),
        version=__version__,
        python=platform.python_version(),
        packages={name: version(name) for name in _PACKAGES},
        command=portable_command(command),
        created_utc=datetime.now(UTC).isoformat(timespec="seconds"),
        cautions=cautions_of(forecast),
        files=sorted(files),
    )
