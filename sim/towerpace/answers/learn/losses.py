"""Chances of losing panels, learned by counting those that the site has unpacked and set."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np

from towerpace.answers.learn.chances import Chance
from towerpace.plan.learned_chances import BROKEN, KEYS, UNFIT, LearnedChances, LossKind
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.site.tower import Tower
from towerpace.units import Flags, Ints


@dataclass(frozen=True)
class LossSeen:
    """Losses of one kind that a site has had.

    lost, exposed : panels lost, of those of which it is known; of a loss that is found in time panels count
        by the share that would have been found by now. 0 exposed: nothing is known.
    stated : chance by the scenario. [-]  chance : what is known of it now.
    remark : what a reader should know.
    """

    kind: LossKind
    lost: int
    exposed: float
    stated: float
    chance: Chance
    remark: str = ""


def losses_seen(
    tower: Tower, *, lifted: Flags, unfit: Collection[int], broken: Collection[int]
) -> list[LossSeen]:
    """What a site teaches about the chances of each family; what neither may nor did happen is left out.

    lifted : whether each step that sets a panel the first time is over, (n,).
    unfit, broken : steps that would set, or have set, panels that were found bad, or broke in handling.
    What others broke later is counted by `later_breaks`.
    """
    laws = (law for law in tower.laws if isinstance(law, LossLaw))
    return [seen for law in laws for seen in _of_law(law, lifted, _steps(unfit), _steps(broken))]


def learned_chances(seen: Collection[LossSeen]) -> LearnedChances | None:
    """As the draws of a trial read it; None if nothing was shown. Chances stated as 0 or 1 stay."""
    told = {loss.kind: loss.chance for loss in seen if loss.exposed and not loss.chance.certain}
    return LearnedChances(told) if told else None


def _of_law(law: LossLaw, lifted: Flags, unfit: Ints, broken: Ints) -> Iterator[LossSeen]:
    is_unfit, is_broken = np.isin(law.normal, unfit), np.isin(law.normal, broken)
    unpacked = lifted[law.normal] | is_unfit | is_broken
    for at, family in enumerate(law.families):
        own = unpacked & (law.family == at)
        counts = {
            UNFIT: (int((own & is_unfit).sum()), int(own.sum())),
            BROKEN: (int((own & is_broken & ~is_unfit).sum()), int((own & ~is_unfit).sum())),
        }
        for kind, (lost, exposed) in counts.items():
            held = [1 - law.stated[key][at] for key in KEYS[kind] if key in law.stated]
            stated = 1 - float(np.prod(held))
            if exposed and (stated or lost):
                chance = Chance.stated(stated).seen(events=lost, exposed=exposed)
                yield LossSeen(LossKind(law.trade, family.column, kind), lost, exposed, stated, chance)


def _steps(some: Collection[int]) -> Ints:
    return np.array(sorted(some), dtype=np.int64)
