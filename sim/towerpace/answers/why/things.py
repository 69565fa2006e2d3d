"""Who waits away from the fronts: crates, trucks, activities, each kind by itself, and how many there are."""

from __future__ import annotations

import numpy as np

from towerpace.answers.ledger.book import Ledger
from towerpace.answers.ledger.waits import Minutes
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.plan.site.fronts import CURING
from towerpace.plan.site.tower import Tower
from towerpace.units import Ints


class Things:
    """The kinds of steps in those rows of the ledger that have no fronts: a thing each, as a crate.

    names : row of the ledger and kind of step, one a thing.
    """

    def __init__(self, tower: Tower, book: Ledger) -> None:
        rows = set(book.rows[len(tower.trades) :])
        # The ledger books curing under the work that waits for it.
        own = [(t.trade, t.kind) for t in tower.plan.tags_used if t.trade in rows and t.kind != CURING]
        self.names = tuple(dict.fromkeys(own))
        place = {name: k for k, name in enumerate(self.names)}
        thing = tower.plan.by_tags(lambda t: place.get((t.trade, t.kind), -1))
        self._steps = np.flatnonzero(thing >= 0)
        self._thing = thing[self._steps]
        self._n_causes = len(book.causes)

    def waited(self, minutes: Minutes, *, draw: Draw, diary: Diary) -> tuple[Ints, Ints]:
        """Minutes between ready and started by thing and cause of the ledger, and the number of things.

        minutes : of every step of the trial, from the ledger. Shapes (n_things, n_causes) and (n_things,).
        """
        waiting, count = minutes.waiting[:, self._steps], len(self.names)
        sums = np.zeros((count, self._n_causes), dtype=np.int64)
        for cause in np.flatnonzero(waiting.any(axis=1)).tolist():
            added = np.bincount(self._thing, weights=waiting[cause], minlength=count)
            sums[:, cause] = np.rint(added).astype(np.int64)
        came = (diary.ready[self._steps] != NEVER) & ~draw.skip[self._steps]
        return sums, np.bincount(self._thing[came], minlength=count).astype(np.int64)
