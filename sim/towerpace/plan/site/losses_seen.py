"""What is known of lost panels once the site runs: which are lost, who has a spare, what nobody has found."""

from __future__ import annotations

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.seen import Seen
from towerpace.units import Flags, Floats, Ints


def lost_and_unfit(lifts: Ints, seen: Seen) -> tuple[Flags, Flags]:
    """Whether each panel is known to be lost, and then whether before it was set, (k,) each.

    lifts : (k,) steps that set the panels first.
    """
    lost, unfit = np.zeros((2, len(lifts)), dtype=np.bool_)
    if seen.lost:
        lost = np.isin(lifts, np.array(list(seen.lost)))
        unfit[lost] = [seen.lost[lift] for lift in lifts[lost].tolist()]
    return lost, unfit


def chances_not_found(chances: Floats, found_below: Floats) -> Floats:
    """Chance of each panel to be broken though nobody has found it so far, (k,). [-]

    found_below : share of breaks that would have been found. [-]

    Notes
    -----
    Bayes: p (1 - F) / (1 - p F).

    >>> chances_not_found(np.array([0.5]), np.array([0.5]))
    array([0.33333333])
    """
    return chances * (1 - found_below) / (1 - chances * found_below)


def first_known(lost: Ints, leads: Ints, seen: Seen) -> Ints:
    """Lost panels in the order in which they ask for spares: as they were found, then those still to come.

    lost : (n,) panels. leads : (n,) the step that makes each anew; -1 for none.
    """
    began = np.where(leads == NONE, NONE, seen.began[leads])
    known = np.flatnonzero(began != NONE)
    known = known[np.argsort(began[known], kind="stable")]
    return np.concatenate((lost[known], lost[began == NONE]))
