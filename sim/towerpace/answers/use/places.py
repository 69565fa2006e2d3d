"""Where the panels of a tower stand as time goes on: made, on site, up on a floor, set; and open holes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.plan.arrays import NONE
from towerpace.plan.model import Plan
from towerpace.plan.site.tower import Tower
from towerpace.units import Flags, Ints

MADE, ON_SITE, UP = "factory", "unloading", "hoist trip"
PLACES = ("made", "yard", "floors", "holes")


class PanelPlaces:
    """Counts the panels of one tower by where they stand.

    made : loads' panels that are made and not unloaded yet; stock counts from the start. yard : unloaded, and
    not on their level. floors : on their level, and neither set nor lost. holes : lost, and not set again.
    A panel belongs to the load and crate that its own front waits for before it; panels that come by another
    way than a hoist, as those left out to the end may, stand in none of the first three.
    """

    def __init__(self, tower: Tower) -> None:
        self._tower = tower
        plan = tower.plan
        self._made, self._on_site, self._up = (
            _last_of(plan, kind)[tower.panels] for kind in (MADE, ON_SITE, UP)
        )
        self._carried = (self._up != NONE) & (self._on_site != NONE)

    def of(self, draw: Draw, diary: Diary, *, edges: Ints) -> Ints:
        """Panels by place at each moment, (4, n_edges), in the order of `PLACES`."""
        tower, finished, carried = self._tower, diary.finished, self._carried
        in_stock = self._made[carried] == NONE
        made = np.where(in_stock, 0, finished[self._made[carried]]).astype(np.int32)
        on_site, up = finished[self._on_site[carried]], finished[self._up[carried]]
        left = finished[tower.panels][carried]  # set, or passed over because it is lost
        sets = tower.setting(draw.skip)
        again = sets != tower.panels
        lost, mended = finished[tower.panels[again]], finished[sets[again]]
        counts = [_by(x, edges) for x in (made, on_site, up, left, lost, mended)]
        *between, holes = (counts[k] - counts[k + 1] for k in (0, 1, 2, 4))
        return np.array([*between, holes])


def _by(minutes: NDArray[np.int32], edges: Ints) -> Ints:
    """How many have come by each edge."""
    return np.searchsorted(np.sort(minutes[minutes != NEVER]), edges, side="right")


def _last_of(plan: Plan, kind: str) -> Ints:
    """The last step of a kind that each step waits for on its own front, itself too, (n,); -1 for none."""
    is_kind: Flags = plan.by_tags(lambda t: t.kind == kind) == 1
    spots: dict[tuple[int | None, str], int] = {}
    spot = plan.by_tags(lambda t: spots.setdefault((t.level, t.zone), len(spots)))
    last = np.where(is_kind, np.arange(plan.n), NONE).tolist()
    before, own, kinds = plan.before.lists, spot.tolist(), is_kind.tolist()
    for step in plan.order.tolist():
        if not kinds[step]:
            last[step] = max((last[p] for p in before[step] if own[p] == own[step]), default=NONE)
    return np.array(last, dtype=np.int64)
