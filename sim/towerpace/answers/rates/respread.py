"""A stated spread as a site has shown it: about another middle, wider or narrower, in a form of its own."""

from __future__ import annotations

import numpy as np

from towerpace.answers.learn.items import Stated
from towerpace.scenario.spreads import Spread

DIGITS = 4  # figures of a number that is written
_PLACES = np.array([0.1, 0.5, 0.9])
_LAWFUL = 0.999  # of the width at which the lowest value becomes none


def respread(stated: Spread, *, level: float, scatter: float) -> Spread:
    """The same spread with so many times its mean, and so many times its standard deviation of ln. [-]

    Beta-PERT, triangles and quantiles keep their form, stretched about their mean; where that would reach
    below none, and for samples, a lognormal law with the same two numbers takes its place.

    Examples
    --------
    >>> stated = Spread.pert(low=20, likely=30, high=46)
    >>> wider = respread(stated, level=1.5, scatter=1.2)
    >>> round(wider.mean() / stated.mean(), 2)
    1.5
    >>> round(Stated.of([wider]).scatter / Stated.of([stated]).scatter, 2)
    1.2
    """
    if stated.kind == "constant":
        return Spread.constant(rounded(level * stated.mean()))
    wanted = scatter * Stated.of([stated]).scatter
    low = stated.low
    keeps = stated.kind in ("pert", "triangular", "quantiles") and low is not None and low < stated.mean()
    if keeps and low is not None:
        width = _width(stated, wanted, most=_LAWFUL * stated.mean() / (stated.mean() - low))
        if width is not None:
            return _stretched(stated, width=width, level=level)
    mean = level * stated.mean()
    logs = -(wanted**2) / 2 + wanted * 1.2815515655446004 * np.array([-1.0, 0.0, 1.0])
    p10, p50, p90 = (rounded(mean * float(value)) for value in np.exp(logs))
    return Spread.quantiles(p10=p10, p50=p50, p90=p90)


def about_one(pace: Spread, *, if_certain: Spread | None = None) -> Spread:
    """A pace with its median at 1 and its width kept: what is left of it where minutes hold the level.

    if_certain : taken in its place where it is stated without any width.
    """
    spread = pace if pace.kind != "constant" or if_certain is None else if_certain
    if spread.kind == "constant":
        return Spread.constant(1.0)
    middle = float(spread.quantile(np.array(0.5)))
    if spread.kind in ("pert", "triangular", "quantiles"):
        return Spread(spread.kind, tuple(rounded(number / middle) for number in spread.params))
    p10, p50, p90 = (rounded(float(value) / middle) for value in spread.quantile(_PLACES))
    return Spread.quantiles(p10=p10, p50=p50, p90=p90)


def rounded(number: float) -> float:
    """A number with as many figures as are written."""
    return float(f"{number:.{DIGITS}g}")


def _width(stated: Spread, wanted: float, *, most: float) -> float | None:
    """How much it is stretched to have a standard deviation of ln; None where even the most is too little."""
    from scipy.optimize import brentq

    def off(width: float) -> float:
        return Stated.of([_stretched(stated, width=width, level=1.0, exact=True)]).scatter - wanted

    least = 1e-3
    if off(least) >= 0:
        return least
    return None if off(most) <= 0 else float(brentq(off, least, most, xtol=1e-6))


def _stretched(stated: Spread, *, width: float, level: float, exact: bool = False) -> Spread:
    mean = stated.mean()
    numbers = [level * (mean + width * (number - mean)) for number in stated.params]
    return Spread(stated.kind, tuple(numbers if exact else map(rounded, numbers)))
