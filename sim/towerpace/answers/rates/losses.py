"""Chances of losing panels, and of panels that do not fit at once, counted in the log itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from towerpace.answers.learn.chances import Chance
from towerpace.answers.learn.losses import LossSeen, losses_seen
from towerpace.plan.learned_chances import KEYS, LossKind
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.site.tower import Tower
from towerpace.record.log import BROKEN, MISFIT, REJECTED, SET
from towerpace.scenario.complaints import dotted
from towerpace.scenario.load import Scenario

MISFITS = "misfit"


def losses_logged(tower: Tower, lifts: Mapping[str, set[int]]) -> list[LossSeen]:
    """Losses and misfits among the panels that the log tells of. lifts : by outcome.

    Panels that the log does not name are not counted as whole: nobody says how they went.
    """
    seen = np.zeros(tower.plan.n, dtype=np.bool_)
    seen[sorted(set().union(*lifts.values()))] = True
    lost = losses_seen(tower, lifted=seen, unfit=lifts[REJECTED], broken=lifts[BROKEN])
    return [*lost, *_misfits(tower, lifts)]


def _misfits(tower: Tower, lifts: Mapping[str, set[int]]) -> Iterator[LossSeen]:
    set_at_last = sorted(lifts[SET] | lifts[MISFIT])
    for law in tower.laws:
        if not isinstance(law, LossLaw):
            continue
        set_here, misfit = np.isin(law.normal, set_at_last), np.isin(law.normal, sorted(lifts[MISFIT]))
        for at, family in enumerate(law.families):
            stated, own = float(family.misfit_chance or 0.0), law.family == at
            lost, exposed = int((misfit & own).sum()), int((set_here & own).sum())
            if exposed and (stated or lost):
                chance = Chance.stated(stated).seen(events=lost, exposed=exposed)
                yield LossSeen(LossKind(law.trade, family.column, MISFITS), lost, exposed, stated, chance)


def chances_of_keys(scenario: Scenario, seen: LossSeen) -> Iterator[tuple[str, float]]:
    """Dotted keys of a family and what is known of each now; a panel found unfit may be so for two reasons.

    Each reason keeps its part a of ln(1 - p): of a chance q in place of p it becomes 1 - (1 - q)^a.
    """
    _, column, kind = seen.kind
    if seen.chance.certain:
        return
    for name, family in scenario.settings.family.items():
        if family.column != column:
            continue
        keys = KEYS.get(kind, ("misfit_chance",))
        parts = {key: -float(np.log1p(-float(getattr(family, key) or 0.0))) for key in keys}
        for key, part in parts.items():
            if part:
                chance = -float(np.expm1(np.log1p(-seen.chance.mean) * part / sum(parts.values())))
                yield dotted(("family", name, key)), chance
