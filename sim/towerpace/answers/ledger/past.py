"""The ledger of a trial that goes on from what a site has shown: what nothing shows is nobody's.

A step that waited on the site though its window was open, its turn had come and its pools had units to spare
was not started: by whom or why the record does not say. So the levels of all pools are looked at, which the
ledger of a free trial need not do: there whoever waits with an open window is short of the only pool it
needs. The windows are those before they were cut at the data date, and the weather up to it is the site's.
"""

from __future__ import annotations

import numpy as np

from towerpace.answers.ledger.waits import AGAIN, LINE, MOVE, WORK, Columns, Lifts, Minutes, Timekeeper
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.plan.model import Plan
from towerpace.units import Flags, Ints

NOT_STARTED = "not started on site"


class PastTimekeeper(Timekeeper):
    """Splits the minutes of steps of which some are pinned; their causes end with `NOT_STARTED`.

    A pinned step was at work from begin to end, less the pauses: of the way of its crane nobody tells.
    """

    def _causes_of(self, labels: tuple[str, ...]) -> tuple[str, ...]:
        return (*super()._causes_of(labels), NOT_STARTED)

    def _looked_at(self, n_needs: Ints) -> Flags:
        return super()._looked_at(n_needs) | (n_needs > 0)

    def split(self, draw: Draw, diary: Diary) -> Minutes:
        """Minutes of one trial."""
        minutes = super().split(draw, diary)
        waiting, doing = minutes.waiting, minutes.doing
        ready, started = (stamps.astype(np.int64) for stamps in (diary.ready, diary.started))
        begun = np.where((ready != NEVER) & (started == NEVER), self.plan.horizon, started)
        took_time = minutes.to > minutes.from_
        waiting[self.column[NOT_STARTED]] += np.where(took_time, begun - ready - waiting.sum(axis=0), 0)
        if draw.pins is not None:
            pinned = draw.pins.pinned
            for cause in (MOVE, AGAIN):
                doing[self.column[WORK], pinned] += doing[self.column[cause], pinned]
                doing[self.column[cause], pinned] = 0
        return minutes

    def add_up(self, draw: Draw, diary: Diary, *, book: Ints, row: Columns, work_cause: Columns) -> Lifts:
        """Add the minutes of every step to its row of a book; what it returns says what befell lifts."""
        minutes = self.split(draw, diary)
        work, doing = self.column[WORK], minutes.doing.T
        spent = minutes.waiting.T + doing
        spent[:, work] -= doing[:, work]
        np.add.at(book[:, : len(self.causes)], row, spent)
        np.add.at(book, (row, work_cause), doing[:, work])
        return Lifts(minutes.caught, minutes.past_shift)

    def before_start(self, draw: Draw, diary: Diary, *, steps: Ints, since: Ints, start: Ints) -> Ints:
        """Minutes of [since, start) of some steps by cause; of pinned steps what nothing explains."""
        minutes = super().before_start(draw, diary, steps=steps, since=since, start=start)
        if draw.pins is not None:
            pinned = draw.pins.pinned[steps]
            minutes[self.column[NOT_STARTED], pinned] += minutes[self.column[LINE], pinned]
            minutes[self.column[LINE], pinned] = 0
        return minutes


def keeper_of(plan: Plan, labels: tuple[str, ...], *, seen: bool) -> Timekeeper:
    """Who splits the minutes of a plan. seen : whether trials go on from what a site has shown."""
    return PastTimekeeper(plan, labels) if seen else Timekeeper(plan, labels)
