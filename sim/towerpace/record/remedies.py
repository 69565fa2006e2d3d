"""What a plan holds ready for a lost panel: its remake, or one for each visit that may bring it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.site.gathered import LEAD
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.site.tower import Tower


class Remedy(NamedTuple):
    """Steps that follow a loss.

    leads : making the panel anew; one step, or one for each visit of which a draw asks for one. others : the
    rest of the only chain; none where visits are gathered, as nobody knows on which it will come.
    """

    leads: tuple[int, ...]
    others: tuple[int, ...] = ()


def remedy_of(tower: Tower, lift: int, *, unfit: bool) -> Remedy | None:
    """The remedy of the panel that a lift sets; None where the scenario gives no chance of its loss.

    unfit : whether it was found bad before it was set.
    """
    for law in tower.laws:
        if not isinstance(law, LossLaw):
            continue
        places = np.flatnonzero(law.normal == lift)
        if not len(places):
            continue
        k = int(places[0])
        if law.gathered is not None and law.gathered.floor[k] != NONE:
            return Remedy(tuple(law.gathered.chains[:, k, LEAD].tolist()))
        row = (law.unfit if unfit else law.broken)[k]
        chain = row[row != NONE].tolist()
        return Remedy((chain[0],), tuple(chain[1:])) if chain else None
    return None
