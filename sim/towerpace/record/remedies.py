"""What a plan holds ready for a lost panel: its remake, or one for each visit that may bring it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.site.gathered import LEAD
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.site.tower import Tower
from towerpace.scenario.schema.setting import FOUND_UNPACKING


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
    found = _law_of(tower, lift)
    if found is None:
        return None
    law, k = found
    if law.gathered is not None and law.gathered.floor[k] != NONE:
        return Remedy(tuple(law.gathered.chains[:, k, LEAD].tolist()))
    row = (law.unfit if unfit else law.broken)[k]
    chain = row[row != NONE].tolist()
    return Remedy((chain[0],), tuple(chain[1:])) if chain else None


def likelier_unfit(tower: Tower, lift: int) -> bool:
    """Whether the panel of a lift is likelier to be found bad than to break while it is set."""
    found = _law_of(tower, lift)
    if found is None:
        return False
    law, k = found
    family = law.families[int(law.family[k])]
    return family.chance(*FOUND_UNPACKING) > family.chance("handling_break_chance")


def likeliest_lost(tower: Tower, lifts: list[int]) -> int:
    """The last lift of the family that is likeliest to have lost one among those of some lifts.

    A rare family has few spares or none: a loss put down to it would keep all later ones waiting for months.
    """
    chances: dict[str, float] = {}
    last: dict[str, int] = {}
    for lift in lifts:
        found = _law_of(tower, lift)
        if found is not None:
            law, k = found
            family = law.families[int(law.family[k])]
            chance = family.chance(*FOUND_UNPACKING) + family.chance("handling_break_chance")
            chances[family.column] = chances.get(family.column, 0.0) + chance
            last[family.column] = lift
    return last[max(chances, key=lambda column: chances[column])] if chances else lifts[-1]


def _law_of(tower: Tower, lift: int) -> tuple[LossLaw, int] | None:
    """The law that decides about the panel of a lift, and its place there."""
    for law in tower.laws:
        if isinstance(law, LossLaw) and len(places := np.flatnonzero(law.normal == lift)):
            return law, int(places[0])
    return None
