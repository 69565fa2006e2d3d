"""What a metamodel is worth: the error of points that it has not seen, and whether it may be shown."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import TYPE_CHECKING

import numpy as np

from towerpace.answers.sweep.quadratic import LeastSquares
from towerpace.scenario.study_responses import CHANCE, parse_response
from towerpace.units import Floats

if TYPE_CHECKING:
    from pandas import DataFrame

# With six residual degrees of freedom the residual deviation is known to about 30 % (1 / sqrt(2 x 6)) and t
# is 2.4 rather than 2.0; with fewer, interval and PRESS are mostly luck.
MORE_POINTS = 6
# The most that a quadratic explains of a step, wherever it stands: of one at c in an even range from -1 to 1
# it explains (1 - c^2) (3 + 5 c^2) / 4, by Legendre's polynomials, which is 0.8 at c^2 = 0.2. So what passes
# is smoother than a step.
LEAST_R2 = 0.8
# The lines of a drawn surface stand about a tenth of its range apart: with a larger error, points lie on the
# wrong side of a line.
MOST_OF_RANGE = 0.1
# Points beyond the horizon are the latest of all: a surface without more of them than this would be one of
# the early points only.
MOST_LEFT_OUT = 0.1


@dataclass(frozen=True)
class Worth:
    """How well a metamodel foretells points that it has not seen.

    points, terms : numbers of them. predictive_r2 : 1 - PRESS / SS, negative if the mean alone does better.
    rms, worst : root mean square and largest error of points left out, in the unit of the response.
    noise : median half-width of the 95 % intervals of the points, in that unit; nan where they have none.
    span : range of the response over the points. why_not : empty if it may be shown.
    """

    points: int
    terms: int
    predictive_r2: float
    rms: float
    worst: float
    noise: float
    span: float
    why_not: str

    @property
    def r2_text(self) -> str:
        """Predictive R2 with two digits, never rounded up to certainty."""
        return f"{floor(100 * self.predictive_r2) / 100:.2f}"


def worth_of(fit: LeastSquares, kept: DataFrame, *, response: str, left_out: int) -> Worth:
    """Judge a fit.

    kept : rows of the points it was fitted to. left_out : points without a value.

    Notes
    -----
    The rule: `MORE_POINTS` more points than terms; predictive R2 at least `LEAST_R2`; leave-one-out error at
    most `MOST_OF_RANGE` of the range of the response or, if that is larger, the half-width of a point, as no
    model is better than the noise of what it was fitted to; no fitted value that the response cannot have, by
    more than that error; and not more than `MOST_LEFT_OUT` of the points left out.
    """
    value, low, high = (kept[name].to_numpy(dtype=float) for name in ("value", "low", "high"))
    halves = (high - low) / 2
    halves = halves[~np.isnan(halves)]
    n, p = len(value), len(fit.coefficients)
    numbers = {
        "predictive_r2": 1 - fit.press / float(((value - value.mean()) ** 2).sum()),
        "rms": float(np.sqrt(fit.press / n)),
        "noise": float(np.median(halves)) if len(halves) else float("nan"),
        "span": float(np.ptp(value)),
    }
    judged = Worth(n, p, worst=float(np.abs(fit.left_out).max()), why_not="", **numbers)
    reasons = [
        _too_few(judged),
        _left_out(n, left_out),
        _poor(judged),
        _impossible(fit.fitted, response, rms=judged.rms),
    ]
    return Worth(n, p, worst=judged.worst, why_not="; ".join(filter(None, reasons)), **numbers)


def _too_few(worth: Worth) -> str:
    need = worth.terms + MORE_POINTS
    if worth.points >= need:
        return ""
    return f"{worth.points} points are too few for {worth.terms} terms: it takes {need}"


def _left_out(n: int, left_out: int) -> str:
    if left_out <= MOST_LEFT_OUT * (n + left_out):
        return ""
    return f"{left_out} of {n + left_out} points lie beyond the horizon"


def _poor(worth: Worth) -> str:
    """Too large an error, and whether noise or shape is behind it."""
    allowed = np.fmax(MOST_OF_RANGE * worth.span, worth.noise)
    if worth.predictive_r2 >= LEAST_R2 and worth.rms <= allowed:
        return ""
    if worth.rms <= worth.noise:
        return "the points' own intervals are as wide as its error and may hide the shape: more trials"
    share = f"{100 * worth.rms / worth.span:.0f} %"
    return f"not a quadratic of the factors: points left out are missed by {share} of the range"


def _impossible(fitted: Floats, response: str, *, rms: float) -> str:
    asked = parse_response(response)
    least, most = float(fitted.min()), float(fitted.max())
    if asked.kind != "cost" and least < -rms:
        return f"it would give {least:.3g}, below 0"
    if asked.statistic == CHANCE and most > 1 + rms:
        return f"it would give a chance of {most:.3g}"
    return ""


def brief(value: float) -> str:
    """An error in two digits, or whole where it is larger.

    >>> brief(0.0637), brief(7.0), brief(1608.5)
    ('0.064', '7', '1,608')
    """
    return f"{value:,.0f}" if abs(value) >= 10 else f"{value:.2g}"
