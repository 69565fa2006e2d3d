"""Paces learned from the sheet alone: how many units were done by the data date, without any times."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.units import Floats

# Variance of what no trial tells about the counts, over that of the counts between trials; it also keeps
# trades apart whose counts rise and fall together. Judgement, without a source.
UNTOLD = 0.05


@dataclass(frozen=True)
class FromCounts:
    """Level of one trade after the ensemble step.

    levels : (n_trials,) ascending. [-]
    """

    levels: Floats

    def quantile(self, u: Floats | float) -> Floats:
        """Levels at probabilities. [-]"""
        return np.asarray(np.quantile(self.levels, u))

    def scatter(self, u: Floats | float) -> Floats:
        """As stated: counts say nothing about it. [-]"""
        return np.ones(np.shape(u))

    def front_sd(self, u: Floats | float) -> Floats:
        """None: counts say nothing about it. [-]"""
        return np.zeros(np.shape(u))


def shifted(paces: Floats, units: Floats, *, seen: Floats) -> Floats:
    """Paces of trials given the units that the site has done, (n_trials, n_trades). [-]

    paces : (n_trials, n_trades) paces under which the trials were played to the data date. [-]
    units : (n_trials, n_counts) units done in each by then, on the weather of the site and its handovers.
    seen : (n_counts,) units done on the site.

    Notes
    -----
    The ensemble step of the Kalman filter (G. Evensen 1994, Sequential data assimilation with a nonlinear
    quasi-geostrophic model using Monte Carlo methods to forecast error statistics, J. Geophys. Res. 99(C5):
    10143-10162, from memory): ln paces X and counts Y, both centred, Y over its standard deviation, give
    B = (Y'Y + 0.05 N I)^-1 Y'X, and each trial moves by (seen - its own counts) B. Counts that are the same
    in all trials say nothing. No noise is added to what is seen, so the spread is a little too small.

    Examples
    --------
    Twice the pace is half the units: at 100 units seen the paces gather about 1.

    >>> paces = np.linspace(0.8, 1.25, 50)[:, None]
    >>> told = shifted(paces, 100 / paces, seen=np.array([100.0]))
    >>> bool(abs(np.median(told) - 1) < 0.02 and told.std() < 0.1 * paces.std())
    True
    """
    sd = units.std(axis=0)
    telling = sd > 0
    if not telling.any():
        return paces
    scale = sd[telling]
    logs = np.log(paces)
    x, y = logs - logs.mean(axis=0), (units - units.mean(axis=0))[:, telling] / scale
    gain = np.linalg.solve(y.T @ y + UNTOLD * len(y) * np.eye(y.shape[1]), y.T @ x)
    away = (seen - units)[:, telling] / scale
    moved: Floats = np.exp(logs + away @ gain)
    return moved


def from_counts(paces: Floats, units: Floats, *, seen: Floats) -> list[FromCounts]:
    """Each trade after the ensemble step, in the order of the columns of `paces`; arguments of `shifted`."""
    moved = np.sort(shifted(paces, units, seen=seen), axis=0)
    return [FromCounts(column) for column in moved.T]
