"""Whole minutes of the steps of many laws, drawn and written in one compiled call."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from towerpace.compiling.addresses import at_addresses
from towerpace.compiling.jit import COUNTERS, FLOATS_2, INTS_2, inline_part, stamp_of, trial_entry
from towerpace.lots.rows import SOURCES, RowArrays, draw_run
from towerpace.lots.streams import Counters
from towerpace.units import Floats, Ints

ONCE = -1  # first weight of a run whose lots count once


class MinuteArrays(NamedTuple):
    """What compiled code reads of laws of minutes: factor x pace x (fixed + the weighted terms).

    row : the lots, a run a term, those of one law one after the other, each as long as its steps.
    first_run, first_step : (n_laws + 1,) of each law. pace : (n_laws,) place in the paces.
    steps : (n,) of the plan. factor : (n,). [-]  fixed : (n,). [min]
    first_weight : (n_runs,) of each run, or `ONCE`. weights : [-]
    """

    row: RowArrays
    first_run: Ints
    first_step: Ints
    pace: Ints
    steps: NDArray[np.int32]
    factor: Floats
    fixed: Floats
    first_weight: Ints
    weights: Floats


@inline_part
def add_terms(laws: MinuteArrays, run: int, k: int, lots: Floats, terms: Floats) -> None:
    """Add the lots of a run to the terms of the steps of its law, (k,). [min]"""
    first = laws.first_weight[run]
    for step in range(k):
        terms[step] += lots[step] if first == ONCE else laws.weights[first + step] * lots[step]


@inline_part
def write_law(laws: MinuteArrays, law: int, pace: float, terms: Floats, work: Ints) -> None:
    """Write the minutes of the steps of a law; what takes any time takes one."""
    first = laws.first_step[law]
    for k in range(laws.first_step[law + 1] - first):
        exact = laws.factor[first + k] * pace * (laws.fixed[first + k] + terms[k])
        work[laws.steps[first + k]] = max(int(np.rint(exact)), 1 if exact > 0 else 0)


laws_at = at_addresses(MinuteArrays)


def _stamped(stamp: int) -> Callable[[Any, Counters, Floats, Floats, Ints], bool]:
    """The entry, with the stamp of the sources that it is compiled from."""

    def write_minutes(table: Any, counters: Counters, paces: Floats, room: Floats, work: Ints) -> bool:
        """Draw the minutes of all steps of some trials and write them into those of the plan.

        counters : (n_trials, n_streams, 3). paces : (n_trials, n_paces). work : (n_trials, n).
        room : (3, k), to work in; k steps has the longest law, or numbers the blocks of the longest run.

        Law by law and not trial by trial: what is read of a law is then at hand for all trials.
        """
        laws, lots, terms, numbers = laws_at(table), room[0], room[1], room[2]
        for law in range(len(laws.pace)):
            k = laws.first_step[law + 1] - laws.first_step[law]
            for trial in range(len(work)):
                for step in range(k):
                    terms[step] = 0.0
                for run in range(laws.first_run[law], laws.first_run[law + 1]):
                    draw_run(laws.row, run, counters[trial, laws.row.stream[run]], numbers, lots)
                    add_terms(laws, run, k, lots, terms)
                write_law(laws, law, paces[trial, laws.pace[law]], terms, work[trial])
        return stamp >= 0

    return trial_entry(write_minutes, COUNTERS, FLOATS_2, FLOATS_2, INTS_2)


write_minutes = _stamped(stamp_of(Path(__file__), *SOURCES))
