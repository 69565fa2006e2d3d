"""The mock-up: tried, mended and tried again until it passes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import ClassVar

import numpy as np

from towerpace.lots.streams import Streams
from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.plan.chance import MOCK_UP as MOCK_UP_TRIES
from towerpace.plan.chance import Drawn, Known, Law, MadeOnce, Probe, taken
from towerpace.plan.site.activities import ACTIVITIES, waits_of
from towerpace.plan.site.drafting import Draft, DrawnMinutes, Uncertain
from towerpace.plan.site.fronts import StepKey, activity_done
from towerpace.plan.site.numbers import Numbers, Recipe
from towerpace.plan.site.risks import add_delays
from towerpace.plan.site.sequence import Precedence
from towerpace.scenario.once import MOCK_UP
from towerpace.scenario.schema import MockUp
from towerpace.scenario.spread_rows import Row, Run
from towerpace.units import DAY_MIN, Ints


@dataclass(frozen=True)
class TriesLaw(MadeOnce, Law):
    """Leaves out what comes after the try of the mock-up that passes.

    again : (most - 1, 2) the repair and the try after each try that may fail. chance : that a try passes. [-]
    Each try has its own place in the stream; no try decides after the last, which ends the matter.
    """

    source: ClassVar[str] = MOCK_UP_TRIES
    again: Ints
    chance: float

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw which try passes; those that are over have passed or not."""
        passed = self._row.drawn(streams) < self.chance
        if known.seen is not None:
            failed = known.seen.failed_tries
            passed[..., :failed] = False
            passed[..., failed : failed + known.seen.passed] = True
        into.skip[..., self.again] = np.logical_or.accumulate(passed, axis=-1)[..., np.newaxis]

    def takes_many(self, known: Known) -> bool:  # noqa: ARG002  one interface
        """Always."""
        return True

    @cached_property
    def _row(self) -> Row:
        return Row([Run(np.arange(len(self.again)), None, "mock-up tries")])

    def probes(self, plan: PlanArrays, *, until: int) -> Iterator[Probe]:  # noqa: ARG002  one interface
        """How many tries fail."""
        yield Probe("repeats of the mock-up", self.source, "tries", 1, partial(taken, self.again[:, 1]))


def add_mock_up(draft: Draft, order: Precedence) -> None:
    """The mock-up: tried, mended and tried again until it passes; then the factory may go on.

    All tries, those that may not be needed under flags, and the step at which the mock-up is done.
    """
    mock_up = draft.settings.mock_up
    if mock_up is None:
        return
    tries = DrawnMinutes((Uncertain(lambda n: _mock_up(n).try_days, "mock-up: try", MOCK_UP_TRIES),), _a_day)
    repairs = DrawnMinutes(
        (Uncertain(lambda n: _mock_up(n).fix_days, "mock-up: repair before try", MOCK_UP_TRIES),), _a_day
    )

    def start(numbers: Numbers) -> int:
        return numbers.minute_of(_mock_up(numbers).start)

    after = waits_of(lambda s: s.mock_up.after if s.mock_up else (), name=MOCK_UP, draft=draft, order=order)
    after += add_delays(draft, on=MOCK_UP, after=list(after), date=start)
    tried = _add_try(draft, "mock-up: try 1", tries, number=1, after=after, date=start)
    again: list[int] = []
    for number in range(2, mock_up.most_tries + 1):
        name = f"mock-up: try {number}"
        flag, repair = draft.flag(name), f"mock-up: repair before try {number}"
        mended = _add_try(draft, repair, repairs, number=number, after=[tried], flag=flag)
        tried = _add_try(draft, name, tries, number=number, after=[mended], flag=flag)
        again += [mended, tried]
    tags = draft.tags(ACTIVITIES, kind=MOCK_UP)
    draft.add(MOCK_UP, key=activity_done(MOCK_UP), after=[tried], tags=tags)
    steps = draft.numbers_of(again).reshape(-1, 2)
    draft.laws.append(lambda n: TriesLaw(steps, float(_mock_up(n).pass_chance)))


def _mock_up(numbers: Numbers) -> MockUp:
    assert numbers.settings.mock_up is not None, "asked for only with a mock-up"
    return numbers.settings.mock_up


def _a_day(_: Numbers) -> float:
    return DAY_MIN


def _add_try(
    draft: Draft,
    name: str,
    minutes: DrawnMinutes,
    *,
    number: int,
    after: Sequence[int | StepKey],
    date: Recipe | None = None,
    flag: int = NONE,
) -> int:
    """Days that pass, drawn by the number of the try; after the first, only if the try before it failed."""
    return draft.add(
        name,
        after=after,
        flag=flag,
        planned=flag == NONE,
        tags=draft.tags(ACTIVITIES, kind=MOCK_UP),
        minutes=minutes,
        item=number - 1,
        date=date,
    )
