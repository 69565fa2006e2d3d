"""How busy single resources were in a trial, and how many holes stood open, for the responses of a study."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from towerpace.answers.sweep.estimates import SHARE_PARTS
from towerpace.answers.use.holding import Holding
from towerpace.answers.use.use import resources_of
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.plan.site.tower import Tower
from towerpace.units import Ints


class UseOfTrial:
    """Reads utilisation and idle share of some resources, and the most holes at one time if asked.

    resources : places in the order of the scenario.
    """

    def __init__(self, tower: Tower, *, resources: Collection[int], holes: bool) -> None:
        self._tower, self._holes = tower, holes
        pools = resources_of(tower)
        self._n = len(pools)
        self._holdings = {k: Holding(tower.plan, pools[k]) for k in sorted(resources)}
        self._edges = np.array([0, tower.plan.horizon])

    def of(self, draw: Draw, diary: Diary) -> dict[str, Ints]:
        """Shares of a trial in millionths, (n_resources,) each, 0 if not asked for; most open holes."""
        utilisation, idle = np.zeros((2, self._n), dtype=np.int64)
        for k, holding in self._holdings.items():
            held = holding.of(draw, diary, edges=self._edges)
            share = held.idle / held.whole if held.whole else 1.0
            idle[k] = round(share * SHARE_PARTS)
            utilisation[k] = SHARE_PARTS - idle[k]
        most = np.asarray(most_holes(self._tower, draw, diary) if self._holes else 0)
        return {"utilisation": utilisation, "idle": idle, "open_holes": most}


def most_holes(tower: Tower, draw: Draw, diary: Diary) -> int:
    """Most panels that are lost and not set again at one time; one mended in a minute is closed in it."""
    sets = tower.setting(draw.skip)
    again = sets != tower.panels
    lost, mended = diary.finished[tower.panels[again]], diary.finished[sets[again]]
    lost, mended = lost[lost != NEVER].astype(np.int64), mended[mended != NEVER].astype(np.int64)
    if not len(lost):
        return 0
    minutes = np.concatenate((mended, lost))
    changes = np.repeat((-1, 1), (len(mended), len(lost)))
    order = np.argsort(minutes, kind="stable")  # what is closed in a minute comes before what opens in it
    return int(np.cumsum(changes[order]).max(initial=0))
