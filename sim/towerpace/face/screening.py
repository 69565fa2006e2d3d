"""Screening as asked for: checked before anything is played, and added to a bid."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from importlib.util import find_spec

from towerpace.answers.bid.bid import Bid, Hearers, with_screening
from towerpace.answers.bid.screened_scenario import MeanFinish, is_whole, parse_ranges
from towerpace.answers.bid.screening import Screened, morris, morris_runs, sobol, sobol_runs
from towerpace.answers.bid.swings import ranges_of, spreads_of
from towerpace.answers.choice.lab import processes
from towerpace.faults import Fault, InputError
from towerpace.scenario.load import Scenario
from towerpace.scenario.setups import changed

_LEAST = 2  # trajectories, or base size


class Screen:
    """A Morris screening, Sobol indices, or both, of one scenario.

    Raises `InputError` for what is wrong with the numbers asked for, and without SALib.
    """

    def __init__(
        self, scenario: Scenario, *, vary: Sequence[str], morris: int, sobol: int, trials: int, seed: int
    ) -> None:
        self._scenario, self._morris, self._sobol = scenario, morris, sobol
        self._trials, self._seed = trials, seed
        self._ranges: dict[str, tuple[float, float]] = {}
        self._whole: tuple[bool, ...] = ()
        self.ends: list[tuple[str, Scenario]] = []  # the scenario with all numbers at either end
        if morris or sobol:
            self._check()
            self._choose(list(vary))

    def _check(self) -> None:
        faults, file = [], self._scenario.path
        if find_spec("SALib") is None:
            allowed = "pip install 'towerpace[sensitivity]'"
            faults.append(Fault(file, None, "sensitivity", "asked for without SALib", allowed))
        if self._morris and self._morris < _LEAST:
            faults.append(Fault(file, None, "morris", str(self._morris), "2 trajectories or more"))
        if self._sobol and (self._sobol < _LEAST or self._sobol & (self._sobol - 1)):
            faults.append(Fault(file, None, "sobol", str(self._sobol), "a power of 2, as 64"))
        if faults:
            raise InputError(faults)

    def _choose(self, vary: list[str]) -> None:
        known = spreads_of(self._scenario.settings)
        if vary:
            self._ranges = parse_ranges(vary, file=self._scenario.path, known=known)
            self._whole = tuple(map(is_whole, vary))
            for end in (0, 1):
                values = {
                    key: round(ends[end]) if whole else ends[end]
                    for (key, ends), whole in zip(self._ranges.items(), self._whole, strict=True)
                }
                self.ends.append(("the numbers that vary", changed(self._scenario, "vary", values).scenario))
            return
        for stated in ranges_of(self._scenario.settings):
            if stated.key in known and stated.low is not None and stated.high is not None:
                self._ranges[stated.key] = (stated.low, stated.high)
        self._whole = (False,) * len(self._ranges)

    def cost(self) -> dict[str, int]:
        """Trials of each screening."""
        k = len(self._ranges)
        points = {
            "Morris screening": morris_runs(k, trajectories=self._morris) if self._morris else 0,
            "Sobol indices": sobol_runs(k, n=self._sobol) if self._sobol else 0,
        }
        return {name: runs * self._trials for name, runs in points.items() if runs and k}

    def added_to(self, bid: Bid, *, workers: int, hearers: Hearers) -> Bid:
        """The bid with what the screening gave."""
        if not self._ranges:
            return bid
        try:
            with processes(workers) as pool:
                for screened in self._play(pool, hearers):
                    bid = with_screening(bid, screened, trials=screened.runs * self._trials)
        except KeyboardInterrupt:
            return replace(bid, missing=("screening",))
        return bid

    def _play(self, pool: Executor | None, hearers: Hearers) -> Iterator[Screened]:
        keys = tuple(self._ranges)
        mean = MeanFinish(
            self._scenario, keys, self._whole, self._trials, self._seed, pool, on_done=hearers.on_done
        )
        if self._morris:
            hearers.say("Morris screening")
            yield morris(mean, self._ranges, trajectories=self._morris, seed=self._seed)
        if self._sobol:
            hearers.say("Sobol indices")
            yield sobol(mean, self._ranges, n=self._sobol, seed=self._seed)
