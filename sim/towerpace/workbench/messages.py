"""What the desk and its players say to each other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from towerpace.units import Ints

Values = Mapping[str, Ints]


@dataclass(frozen=True)
class Question:
    """Play so many trials of the scenario with changes.

    generation : a newer one takes the place of this. series : of questions one after the other with the same
    changes, whose trials go on. edition : rises when the file has changed on disk.
    changes : dotted keys and values as they stand in a file; empty for the scenario as it is.
    """

    generation: int
    series: int
    edition: int
    changes: Mapping[str, object]
    upto: int


@dataclass(frozen=True)
class Replay:
    """Play one trial for people to watch. number : that the answer bears."""

    number: int
    edition: int
    changes: Mapping[str, object]
    trial: int


@dataclass(frozen=True)
class Begun:
    """A player has the plan of a question. building : it is about to write it, and will say so again.

    trades, once : names along the arrays of its trials. banners : limits above those of the file.
    """

    generation: int
    building: bool
    trades: tuple[str, ...] = ()
    once: tuple[str, ...] = ()
    banners: tuple[str, ...] = ()


@dataclass(frozen=True)
class Trials:
    """Trials that were played. of_file : of the scenario as it is. values : by trial, see `PageReader`."""

    series: int
    edition: int
    of_file: bool
    values: Mapping[int, Values]


@dataclass(frozen=True)
class Hours:
    """Minutes by row, level and cause over some trials, (n_rows, n_levels, n_causes).

    rows, causes : names along it.
    """

    series: int
    edition: int
    of_file: bool
    trials: int
    minutes: Ints
    rows: tuple[str, ...]
    causes: tuple[str, ...]


@dataclass(frozen=True)
class Held:
    """What held the finish: minutes of the controlling chains by row and cause, (n_rows, n_causes), added up.

    finished : trials that have a chain. rows, causes : names along the array.
    """

    series: int
    edition: int
    finished: int
    minutes: Ints
    rows: tuple[str, ...]
    causes: tuple[str, ...]


@dataclass(frozen=True)
class Refused:
    """Changes that cannot be run. faults : one line each."""

    generation: int
    faults: tuple[str, ...]


@dataclass(frozen=True)
class Replayed:
    """A trial to watch, as the page reads it; or the faults why there is none."""

    number: int
    told: Mapping[str, object] | None
    faults: tuple[str, ...] = ()


@dataclass(frozen=True)
class Failed:
    """A fault of ours. text : what a report of it needs."""

    generation: int
    text: str


Told = Begun | Trials | Hours | Held | Refused | Replayed | Failed
