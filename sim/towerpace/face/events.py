"""The event log: what happened to every step of any number of trials."""

from __future__ import annotations

import os
import platform
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, closing
from dataclasses import astuple, dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

import towerpace
from towerpace.answers.cautions import limits_cautions
from towerpace.answers.events.event_log import COLUMNS, Event, EventLog
from towerpace.answers.portable import portable_command
from towerpace.answers.prepare import prepare
from towerpace.face.asked import check_name, check_numbers
from towerpace.face.defaults import EVENTS_TRIALS, SEED
from towerpace.render.event_files import FORMATS, EventFile
from towerpace.render.folder import check_folder
from towerpace.render.saved.answer_file import MANIFEST, write_manifest
from towerpace.render.saved.manifest import FORMAT, PACKAGES, Manifest
from towerpace.render.whole_folder import replacing
from towerpace.scenario.load import Scenario

if TYPE_CHECKING:
    import pandas as pd

NAME = "events"


@dataclass(frozen=True)
class Events:
    """What happened to every step of some trials, played when it is asked for.

    Attributes
    ----------
    scenario, trials, seed
        What is played: trials 0 to trials - 1 of the seed.
    """

    scenario: Scenario
    trials: int
    seed: int
    _log: EventLog

    def __iter__(self) -> Iterator[list[Event]]:
        """The events of one trial after the other, in the order in which the steps came due."""
        return self._log.events(self.trials)

    def frame(self) -> pd.DataFrame:
        """All events as a table, a row each; its columns are the fields of `Event`.

        Examples
        --------
        >>> from towerpace import events, load
        >>> log = events(load("scenarios/one_hoist/scenario.toml"), trials=1).frame()
        >>> lift = log[log["step"] == "panels L1 north: panel 1"].iloc[0]
        >>> lift["units"], lift["wait_min"]
        ('panel_gang 1; floor_crane 1', 0)
        """
        import pandas as pd

        rows = [astuple(event) for events in self for event in events]
        return pd.DataFrame(rows, columns=list(COLUMNS)).astype({"level": "Int64"})

    def save(
        self,
        folder: str | os.PathLike[str],
        *,
        formats: Sequence[str] = ("csv",),
        command: str = "towerpace.events",
        on_done: Callable[[int], None] = lambda _: None,
    ) -> Counter[str]:
        """Write the log to a folder, trial by trial, with a manifest; how many events there are by kind.

        Parameters
        ----------
        folder : path-like
            New, or one written by an earlier run.
        formats : sequence of str
            Any of "csv", "parquet" and "xes": events.csv and so on. XES has a trace for every front of every
            trial.

        Raises
        ------
        InputError
            For an unknown format, Parquet without pyarrow, or a folder that cannot be written.
        """
        for name in formats:
            check_name(name, FORMATS, of="Events", what="format")
        check_folder(folder, parquet="parquet" in formats)
        counts: Counter[str] = Counter()
        with replacing(Path(folder).resolve()) as new:
            with ExitStack() as opened:
                files: list[EventFile] = [
                    opened.enter_context(closing(FORMATS[name](new / f"{NAME}.{name}")))
                    for name in dict.fromkeys(formats)
                ]
                for k, events in enumerate(self, start=1):
                    counts.update(event.kind for event in events)
                    for file in files:
                        file.add(events)
                    on_done(k)
            names = sorted(path.name for path in new.iterdir())
            write_manifest(self._manifest(command, names), new / MANIFEST)
        return counts

    def _manifest(self, command: str, files: Sequence[str]) -> Manifest:
        return Manifest(
            format=FORMAT,
            question=NAME,
            scenario=self.scenario.settings.tower.name,
            hash=self.scenario.hash,
            seed=self.seed,
            trials=self.trials,
            version=towerpace.__version__,
            python=platform.python_version(),
            packages={name: version(name) for name in PACKAGES},
            command=portable_command(command),
            created_utc=datetime.now(UTC).isoformat(timespec="seconds"),
            cautions=limits_cautions(self.scenario.settings),
            files=files,
        )


def events(scenario: Scenario, *, trials: int = EVENTS_TRIALS, seed: int = SEED) -> Events:
    """The event log of some trials: when every step was ready, began and ended, by what, and why it waited.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    trials : int
        So many, from trial 0.
    seed : int
        Of all random numbers; a trial is the one that every other answer plays under this seed.

    Returns
    -------
    Events
        Lists of events trial by trial, a DataFrame by `frame`, files by `save`.

    Raises
    ------
    InputError
        For a scenario that cannot be run, or numbers out of range.

    Notes
    -----
    Which of several units served a step is played again by the rule by which they are sent: the nearest free
    one, of those equally near the lowest number. Causes are those of the ledger.
    """
    check_numbers(scenario.path, {"trials": (trials, 1, None), "seed": (seed, 0, None)})
    return Events(scenario, trials, seed, EventLog(prepare(scenario), seed=seed))
