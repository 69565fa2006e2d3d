"""What was added to a scenario from Python: put into its compiled tower, or refused where it does not fit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from towerpace.faults import Fault, InputError
from towerpace.plan.chance import Law
from towerpace.plan.site.fronts import LAST
from towerpace.plan.site.tower import Tower
from towerpace.scenario.load import Scenario
from towerpace.scenario.own import OwnLaw, OwnRule
from towerpace.units import Ints

MOST_RANK = 2**31 - 1


def with_own_parts(tower: Tower, scenario: Scenario) -> Tower:
    """The tower with the laws and the rule of one's own.

    Raises `InputError` for parts of one name, for more than one rule, and for what is no law or no rank.
    """
    faults = list(_name_faults(scenario))
    for part in scenario.own if not faults else ():
        if isinstance(part, OwnLaw):
            law = part.make(tower)
            if not isinstance(law, Law):
                faults.append(
                    _fault(scenario, part, f"a {type(law).__name__}", "a Law of towerpace.plan.chance")
                )
                continue
            tower = replace(tower, laws=(*tower.laws, law))
        else:
            ranks = _ranks(part, tower)
            if ranks is None:
                allowed = (
                    f"{tower.plan.n} whole numbers, one a step, known before any trial: the compiled engine "
                    "cannot ask Python whose turn it is"
                )
                faults.append(_fault(scenario, part, "something else", allowed))
                continue
            own = (tower.plan.rank < 0) | (tower.plan.rank == LAST)
            tower = replace(tower, plan=tower.plan.changed(rank=np.where(own, tower.plan.rank, ranks)))
    if faults:
        raise InputError(faults)
    return tower


def _name_faults(scenario: Scenario) -> Iterator[Fault]:
    names = [part.name for part in scenario.own]
    for k, part in enumerate(scenario.own):
        if not part.name or not part.version:
            yield _fault(scenario, part, "a part without name or version", "both, as they stand in the hash")
        if part.name in names[:k]:
            yield _fault(scenario, part, "the name twice", "a name for each part")
    rules = [part for part in scenario.own if isinstance(part, OwnRule)]
    for part in rules[1:]:
        yield _fault(scenario, part, "a second rule", f"one rule, which is '{rules[0].name}'")


def _ranks(rule: OwnRule, tower: Tower) -> Ints | None:
    """The ranks of a rule, (n,); None if it gives no such numbers."""
    given = rule.rank(tower)
    if callable(given):
        return None
    ranks = np.asarray(given)
    is_good = ranks.shape == (tower.plan.n,) and np.issubdtype(ranks.dtype, np.integer)
    if not is_good or np.abs(ranks.astype(np.int64)).max(initial=0) > MOST_RANK:
        return None
    return ranks.astype(np.int64)


def _fault(scenario: Scenario, part: OwnLaw | OwnRule, found: str, allowed: str) -> Fault:
    return Fault(scenario.path, None, f"own '{part.name}'", found, allowed)
