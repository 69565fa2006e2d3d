"""The mock-up: tried, mended and tried again until it passes; then the factory may go on."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from towerpace.plan.laws import DAY_MIN, Drawn, Law, Streams, Term
from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.activities import ACTIVITIES, waits_of
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import activity_name
from towerpace.plan.site.risks import add_delays
from towerpace.plan.site.sequence import Sequence
from towerpace.scenario.once import MOCK_UP
from towerpace.scenario.schema import MockUp
from towerpace.scenario.spreads import Spread


@dataclass(frozen=True)
class TriesLaw:
    """Leaves out what comes after the try that passes.

    again : (most - 1, 2) the repair and the try after each try that may fail. chance : that a try passes. [-]
    Each try has its own place in the stream; no try decides after the last, which ends the matter.
    """

    again: NDArray[np.int64]
    chance: float

    def apply(self, into: Drawn, streams: Streams) -> None:
        """Draw which try passes."""
        passed = streams("mock-up tries").random(len(self.again)) < self.chance
        into.skip[self.again] = np.logical_or.accumulate(passed)[:, None]


def add_mock_up(draft: Draft, sequence: Sequence) -> None:
    """All tries, those that may not be needed under flags, and the step at which the mock-up is done."""
    mock_up = sequence.settings.mock_up
    if mock_up is None:
        return
    settings, date = sequence.settings, 0
    if mock_up.start is not None:
        date = (mock_up.start - settings.tower.start).days * DAY_MIN
    after = waits_of(mock_up.after, name=MOCK_UP, draft=draft, sequence=sequence)
    after += add_delays(draft, settings, on=MOCK_UP, after=list(after), date=date)
    after = [_add_try(draft, mock_up, 1, after=after, date=date)]
    again = []
    for number in range(2, mock_up.most_tries + 1):
        mended = _add_fix(draft, mock_up, number, after=after)
        after = [_add_try(draft, mock_up, number, after=[mended], date=0)]
        again.append((mended, after[0]))
    draft.add(Step(activity_name(MOCK_UP), after=after, tags=Tags(trade=ACTIVITIES, kind=MOCK_UP)))
    draft.laws.append(partial(_tries_law, again=again, chance=float(mock_up.pass_chance)))


def _tries_law(index: dict[str, int], *, again: list[tuple[str, str]], chance: float) -> Law:
    steps = [[index[mended], index[tried]] for mended, tried in again]
    return TriesLaw(np.array(steps, dtype=np.int64).reshape(-1, 2), chance)


def _add_try(draft: Draft, mock_up: MockUp, number: int, *, after: list[str], date: int) -> str:
    return _add(draft, f"mock-up: try {number}", mock_up.try_days, number=number, after=after, date=date)


def _add_fix(draft: Draft, mock_up: MockUp, number: int, *, after: list[str]) -> str:
    return _add(draft, f"mock-up: repair before try {number}", mock_up.fix_days, number=number, after=after)


def _add(draft: Draft, name: str, days: Spread, *, number: int, after: list[str], date: int = 0) -> str:
    """Days that pass, drawn by the number of the try; after the first, only if the try before it failed."""
    purpose = name.rstrip("0123456789").rstrip()
    chance = Chance(item=number - 1, factor=DAY_MIN, terms=(Term(days, purpose),))
    return draft.add(
        Step(
            name,
            work=draft.expected(chance),
            after=after,
            date=date,
            skip=f"mock-up: try {number}" if number > 1 else None,
            planned=number == 1,
            tags=Tags(trade=ACTIVITIES, kind=MOCK_UP),
        ),
        chance=chance,
    )
