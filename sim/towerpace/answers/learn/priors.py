"""What is believed of a trade before its site has shown anything: the stated range, and a tail beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from towerpace.plan.laws import Hindrance, PaceLaw
from towerpace.plan.site.paces import RiskFactor
from towerpace.units import Floats

TAIL_SHARE = 0.05  # chance that the pace does not come from the stated range
TAIL_SD = 0.35  # of ln pace in the tail [-]
SCATTER_SD = 0.25  # of ln scatter [-]
FRONT_NONE = 0.25  # chance that fronts have nothing in common
FRONT_SD = 0.2  # scale of the half normal law of the front effect's sd, if they have [-]
WRONG_SHARE = 0.02  # items with a typing error ...
WRONG_TIMES = 3.0  # ... scatter so many times as much [-]
EVEN = 2001  # probabilities at which the stated level is kept


@dataclass(frozen=True)
class Prior:
    """Laws of level, scatter and front effect of one trade; all its numbers are judgement, without a source.

    quantiles : (n,) the stated level at n even probabilities from 0 to 1, ascending. [-]
    tail_share, tail_sd : the lognormal tail about the mean of the stated level. [-]
    scatter_sd : of ln scatter about 0. [-]
    front_none : chance that fronts have no effect. [-]
    front_sd : else, scale of the half normal law of its sd; 0 for no effect at all. [-]
    wrong_share : of items with a typing error. [-]
    """

    quantiles: Floats
    tail_share: float = TAIL_SHARE
    tail_sd: float = TAIL_SD
    scatter_sd: float = SCATTER_SD
    front_none: float = FRONT_NONE
    front_sd: float = FRONT_SD
    wrong_share: float = WRONG_SHARE

    @property
    def mean(self) -> float:
        """Mean of the stated level. [-]"""
        return float(self.quantiles.mean())

    def stated(self, u: float) -> float:
        """The stated level at a probability, without the tail. [-]"""
        return float(np.quantile(self.quantiles, u))

    def level(self, edges: Floats) -> Floats:
        """Chance of each cell between edges of ln level, (n - 1,). [-]"""
        from scipy.special import ndtr

        places = np.linspace(0, 1, len(self.quantiles))
        stated = np.interp(edges, np.log(self.quantiles), places, left=0.0, right=1.0)
        tail = ndtr((edges - np.log(self.mean)) / self.tail_sd)
        return np.diff((1 - self.tail_share) * stated + self.tail_share * tail)

    def scatter(self, edges: Floats) -> Floats:
        """Chance of each cell between edges of ln scatter, (n - 1,). [-]"""
        from scipy.special import ndtr

        return np.diff(ndtr(edges / self.scatter_sd))

    def front(self, edges: Floats) -> Floats:
        """Chance of each cell between edges of the front effect's sd, (n - 1,); that from 0 to 0 is none."""
        from scipy.special import ndtr

        if not self.front_sd:
            return np.ones(len(edges) - 1)
        some = np.diff(2 * ndtr(edges / self.front_sd) - 1)
        return np.where(edges[1:] == 0, self.front_none, (1 - self.front_none) * some)

    def reach(self) -> tuple[Floats, Floats, Floats]:
        """Ends of ln level, ln scatter and the front effect's sd within which all but 1e-6 lies."""
        far = 5.0
        middle = np.log(self.mean)
        level = np.array([min(np.log(self.quantiles[0]), middle - far * self.tail_sd), 0.0])
        level[1] = max(np.log(self.quantiles[-1]), middle + far * self.tail_sd)
        # An end on an edge of the stated range would cut an atom in two.
        level += np.array([-1e-3, 1e-3])
        scatter = far * self.scatter_sd * np.array([-1.0, 1.0])
        return level, scatter, np.array([0.0, far * self.front_sd])


def prior_of(trade: str, paces: PaceLaw, *, befallen: Mapping[str, bool] | None = None) -> Prior:
    """What the scenario states of the level of a trade: its pace times all that may hinder it in a trial.

    befallen : whether a risk has befallen, of those of which it is known, by name; the others may or may not.

    A trade that is slow for a whole trial is seen to be slow; minutes cannot tell for which of its reasons.
    """
    inside = np.clip(np.linspace(0, 1, EVEN), 0.5 / EVEN, 1 - 0.5 / EVEN)
    levels, chances = paces.spreads[trade].quantile(inside), np.full(EVEN, 1 / EVEN)
    for hindrance in paces.hindrances:
        if hindrance.trade == trade:
            factors, each = _given(hindrance, befallen or {}).law()
            levels, chances = _at_even(np.outer(levels, factors).ravel(), np.outer(chances, each).ravel())
    return Prior(levels)


def _given(hindrance: Hindrance, befallen: Mapping[str, bool]) -> Hindrance:
    if isinstance(hindrance, RiskFactor) and hindrance.risk in befallen:
        return replace(hindrance, chance=float(befallen[hindrance.risk]))
    return hindrance


def _at_even(levels: Floats, chances: Floats) -> tuple[Floats, Floats]:
    """The same law at even probabilities."""
    order = np.argsort(levels, kind="stable")
    below = np.cumsum(chances[order]) - chances[order] / 2
    return np.interp(np.linspace(0, 1, EVEN), below, levels[order]), np.full(EVEN, 1 / EVEN)
