"""The scenario file as it stands on disk, with what may be changed of it."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from towerpace.answers.days import Days
from towerpace.scenario.load import Scenario, load
from towerpace.workbench.causes import LevelHours, level_hours
from towerpace.workbench.collected import Collected
from towerpace.workbench.offered import Offer, offers_of
from towerpace.workbench.reader import enclosing_trade
from towerpace.workbench.told import span_of


@dataclass(frozen=True)
class Edition:
    """One state of the file, and its trials.

    digest : SHA-256 of its bytes, hexadecimal. offers : what may be changed, by dotted key.
    """

    scenario: Scenario
    digest: str
    offers: Mapping[str, Offer]
    days: Days
    trials: Collected = field(default_factory=Collected)
    _span: dict[str, str] = field(default_factory=dict)

    @classmethod
    def read(cls, path: str) -> Edition:
        """The file as it is now; raises `InputError` with all its faults."""
        digest = digest_of(path)
        scenario = load(path)
        return cls(scenario, digest, offers_of(scenario), Days(scenario.settings))

    @property
    def enclosing(self) -> str:
        """The trade that the elevation shows."""
        return enclosing_trade(self.scenario)

    def span(self) -> dict[str, str]:
        """First and last date of the axis; steady, from the first trials that were shown."""
        if not self._span:
            self._span.update(span_of(self.trials.first(self.trials.n)["finish"], self.days))
        return self._span

    def hours_of(self, trials: Collected, players: int) -> LevelHours | None:
        """Hours by level and cause, None before each player has told its own."""
        hours = trials.hours(players)
        return None if hours is None else level_hours(hours, self.scenario, enclosing=self.enclosing)


def digest_of(path: str) -> str:
    """SHA-256 of a file, hexadecimal; "" where it cannot be read."""
    try:
        return hashlib.sha256(Path(path).read_bytes()).hexdigest()
    except OSError:
        return ""
