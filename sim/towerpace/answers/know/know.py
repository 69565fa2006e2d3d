"""A choice between set-ups, and what it is worth to know a number before it is made."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from contextlib import nullcontext
from dataclasses import dataclass
from typing import Literal

import numpy as np

from towerpace.answers.bid.contingency import no_uncertainty
from towerpace.answers.choice.lab import FinishMeasure, processes
from towerpace.answers.choice.stated import planned
from towerpace.answers.cost import PARTS, CostBook, cost_book
from towerpace.answers.drawn_inputs import Input, drawn_inputs, probes_of
from towerpace.answers.estimates import LATER
from towerpace.answers.know.value import FEWEST, Worth, of_everything, terms_of, terms_together, worth
from towerpace.answers.prepare import Prepared
from towerpace.draws import Draw, stream
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.plan.chance import Probe
from towerpace.scenario.setups import SetUp
from towerpace.trials.job import Job
from towerpace.trials.outcome import Outcome, Outcomes
from towerpace.trials.run import run_trials
from towerpace.units import DAY_MIN, Floats

LossName = Literal["money", "days"]


@dataclass(frozen=True)
class Number:
    """A drawn number and what it is worth to know it first.

    worth : None of a number that is the same in every trial. proven : whether following it is shown to gain,
    counting how many numbers are asked. best : (n,) option with the least expected loss given it.
    """

    drawn: Input
    worth: Worth | None
    proven: bool


@dataclass(frozen=True)
class Together:
    """All numbers of one source known at once; None where they are too many for the trials."""

    source: str
    numbers: int
    worth: Worth | None


@dataclass(frozen=True)
class Known:
    """What knowing is worth before a choice is made.

    setups : the options, the scenario as it is first. losses : (n, n_options) in money or days; None where a
        trial lies beyond the horizon. unit : of money, "" without.
    everything : worth of knowing all that chance decides. beyond : trials of any option beyond the horizon.
    """

    setups: tuple[SetUp, ...]
    ready: Prepared
    by: LossName
    unit: str
    seed: int
    asked: int
    losses: Floats | None
    everything: float | None
    numbers: tuple[Number, ...]
    together: tuple[Together, ...]
    beyond: int

    @property
    def chosen(self) -> int | None:
        """The option with the least mean loss."""
        return None if self.losses is None else int(self.losses.mean(axis=0).argmin())


@dataclass(frozen=True)
class KnowMeasure:
    """Finish and cost, and what the probes find. until : as for the probes. [min]"""

    costs: CostBook | None
    ready: Prepared
    until: int

    def reader(self) -> KnowReader:
        """Prepare what is the same in every trial."""
        return KnowReader(FinishMeasure(self.costs), probes_of(self.ready, until=self.until))


@dataclass(frozen=True)
class KnowReader:
    """Reads finish, cost and, as `inputs`, what the probes find."""

    finish: FinishMeasure
    probes: list[Probe]

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:
        """Results of one trial."""
        outcome = self.finish(draw, openings, diary)
        inputs = np.array([probe.read(draw) for probe in self.probes], dtype=np.int64)
        return Outcome({**outcome.values, "inputs": inputs}, outcome.sums)


def know(
    setups: Sequence[SetUp],
    *,
    by: LossName,
    trials: int,
    seed: int,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Known:
    """Play every option on the same draws and value what could be known of them.

    setups : the options, the scenario as it is first. by : what a choice loses, mean cost or mean days.

    Ctrl-C keeps the trials that every option has played, where they are at least 40; else it goes on as
    `KeyboardInterrupt`. Raises `InputError` for what cannot be run.
    """
    options = planned(setups[0].scenario, setups)
    base = options[0]
    first = no_uncertainty(base).base
    until = base.tower.plan.horizon if first is None else first
    outcomes: list[Outcomes] = []
    with processes(workers) if executor is None else nullcontext(executor) as shared:
        for number, ready in enumerate(options):
            costs = cost_book(ready.scenario.settings, tower=ready.tower, days=ready.days)
            measure = FinishMeasure(costs) if number else KnowMeasure(costs, ready, until)
            job = Job(ready.chooser, measure, seed)
            played = run_trials(job, trials=trials, executor=shared, on_done=on_done)
            outcomes.append(played.outcomes)
            if played.interrupted and number + 1 < len(options):
                raise KeyboardInterrupt  # an option without trials cannot be chosen
    n = min(one.n for one in outcomes)
    if n < min(trials, FEWEST):
        raise KeyboardInterrupt
    finish = np.array([one.values["finish"][:n] for one in outcomes]).T
    cost = np.array([one.values["cost"][:n] for one in outcomes]).T
    beyond = int(np.count_nonzero(np.any(finish == LATER, axis=1)))
    losses = None if beyond else (cost / PARTS if by == "money" else finish / DAY_MIN)
    inputs = drawn_inputs(base, outcomes[0].values["inputs"][:n], seed=seed, until=until)
    numbers, together = ((), ()) if losses is None else _valued(inputs, losses, seed=seed)
    settings = base.scenario.settings
    unit = settings.cost.unit if by == "money" and settings.cost is not None else ""
    everything = None if losses is None else of_everything(losses)
    return Known(tuple(setups), base, by, unit, seed, trials, losses, everything, numbers, together, beyond)


def _valued(
    inputs: Sequence[Input], losses: Floats, *, seed: int
) -> tuple[tuple[Number, ...], tuple[Together, ...]]:
    """Every number, those worth most first, and every source."""
    from scipy.stats import norm

    # Resampling belongs to no single trial: it has a random stream of its own, under trial 0 of the seed.
    rng = stream(seed, 0, "value of knowing")
    varying = [one for one in inputs if np.ptp(one.values) > 0]
    beyond_luck = float(norm.ppf(1 - 0.05 / max(1, len(varying))))
    numbers = []
    for one in inputs:
        found = None
        if np.ptp(one.values) > 0:
            found = worth(losses, terms_of(one.values, losses), rng=rng)
        numbers.append(Number(one, found, _is_shown(found, beyond_luck)))
    numbers.sort(key=_order)
    together = []
    for source in dict.fromkeys(one.source for one in varying):
        values = [one.values for one in varying if one.source == source]
        terms = terms_together(values)
        joint = None if terms is None else worth(losses, terms, rng=rng)
        together.append(Together(source, len(values), joint))
    return tuple(numbers), tuple(together)


def _order(number: Number) -> tuple[bool, bool, float]:
    """What is shown to change the choice first, then by worth."""
    value = 0.0 if number.worth is None else number.worth.value
    return not number.proven, number.worth is None, -value


def _is_shown(found: Worth | None, beyond_luck: float) -> bool:
    return found is not None and found.shown > beyond_luck * found.shown_error > 0
