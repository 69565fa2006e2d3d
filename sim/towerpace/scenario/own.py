"""What a researcher adds to a scenario from Python: laws of chance, spreads and a rule of one's own.

Each is registered by a name and a version. The functions themselves cannot be hashed; so name and version
stand in the scenario's hash, and whoever changes what a function does gives it another version.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from towerpace.scenario.spreads import Spread
from towerpace.units import Floats

_PLACES = 2000  # between 0 and 1, from which a mean is taken
_SAID = 6  # places whose values stand in the hash, so that other numbers under one name show


@dataclass(frozen=True)
class OwnLaw:
    """A law of chance of one's own, applied after those of the scenario.

    Parameters
    ----------
    name, version : str
        What it is called, and which edition of it this is; both are part of the scenario's hash.
    make : callable
        Takes the compiled tower and gives a `Law`: it may look up steps, and says in `apply` what a trial
        draws.
    """

    name: str
    version: str
    make: Callable[[Any], Any]


@dataclass(frozen=True)
class OwnRule:
    """A rule of dispatch of one's own: the rank of every step, the lowest served first.

    Parameters
    ----------
    name, version : str
        As of a law.
    rank : callable
        Takes the compiled tower and gives whole numbers, one a step. It is asked once, before any trial: both
        engines serve by ranks that are known from the start. What depends on how a trial goes cannot be said
        so. Of steps with equal ranks the one written first goes first; pools of order "first come" look at
        the minute first. Ranks of what comes before or after every front (activities, absences, trucks that
        leave: below 0, or the last) stay as they are.
    """

    name: str
    version: str
    rank: Callable[[Any], Any]


Own = OwnLaw | OwnRule


class OwnSpread(Spread):
    """A spread by its quantile function, to be given as the value of a key.

    Examples
    --------
    >>> import numpy as np
    >>> heavy = OwnSpread("pareto", version="1", quantile=lambda u: 20 * (1 - 0.99 * u) ** -0.5)
    >>> round(heavy.mean(), 1), heavy.low, round(heavy.high)
    (36.4, 20.0, 200)
    """

    __slots__ = ("_by", "name", "version")
    name: str
    version: str
    _by: tuple[Callable[[Floats], Floats], float]

    def __init__(
        self, name: str, *, version: str, quantile: Callable[[Floats], Floats], by: float = 0.0
    ) -> None:
        """name, version : as of `OwnLaw`.

        quantile : of probabilities from 0 to 1 both included, an array, the values; finite, never falling.
        by : added to every value.

        Raises `ValueError` where it is neither.
        """
        places = np.linspace(0.0, 1.0, _PLACES + 1)
        values = np.asarray(quantile(places), dtype=np.float64) + by
        if values.shape != places.shape or not np.isfinite(values).all() or np.any(np.diff(values) < 0):
            raise ValueError(f"the quantile function of '{name}' must give finite values that never fall")
        said = tuple(values[np.linspace(0, _PLACES, _SAID).astype(int)].tolist())
        super().__init__("own", said, f"{name}, version {version}")
        for word, value in (("name", name), ("version", version), ("_by", (quantile, by))):
            object.__setattr__(self, word, value)

    def __reduce__(self) -> tuple[Any, tuple[object, ...]]:
        return _again, (self.name, self.version, *self._by)

    def mean(self) -> float:
        """The mean value, from 2,000 places between 0 and 1."""
        return float(np.mean(self.quantile((np.arange(_PLACES) + 0.5) / _PLACES)))

    def quantile(self, u: Floats) -> Floats:
        """Values at the given probabilities."""
        function, by = self._by
        values: Floats = np.asarray(function(u), dtype=np.float64) + by
        return values

    def shifted(self, by: float) -> Spread:
        """The same spread with every value larger by a number."""
        function, already = self._by
        return OwnSpread(self.name, version=self.version, quantile=function, by=already + by)

    def without_negatives(self) -> Spread:
        """Itself, as none of it may lie below 0.

        Raises `ValueError` if some does.
        """
        if self.params[0] < 0:
            raise ValueError("part of it lies below 0")
        return self

    def stated(self) -> object:
        """What stands for it where a scenario is written down: it cannot be read back from a file."""
        return {"own": self.name, "version": self.version}

    def describe(self) -> str:
        """The spread in words."""
        return f"{self.name}, version {self.version}, {self.params[0]:g} to {self.params[-1]:g}"


def _again(name: str, version: str, quantile: Callable[[Floats], Floats], by: float) -> OwnSpread:
    return OwnSpread(name, version=version, quantile=quantile, by=by)


def with_own(content: str, own: Sequence[Own]) -> str:
    """The hash of a scenario with what was added to it; the hash itself if nothing was."""
    if not own:
        return content
    said = [[type(one).__name__, one.name, one.version] for one in own]
    return hashlib.sha256((content + json.dumps(said)).encode()).hexdigest()
