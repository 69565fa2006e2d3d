"""Least squares with a full quadratic, and what each point says of it when it is left out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from towerpace.units import Floats

Term = tuple[int, ...]  # places of the factors it multiplies: () is the intercept, (1, 1) a square
_ALONE = 1 - 1e-9  # leverage of a point that no other point checks


def terms_of(squares: Sequence[bool]) -> tuple[Term, ...]:
    """Intercept, linear terms, squares and cross products.

    squares : of every factor, whether it has one; two values of a factor cannot tell its square from the
        intercept.

    >>> terms_of([True, False])
    ((), (0,), (1,), (0, 0), (0, 1))
    """
    places = range(len(squares))
    own = [(k, k) for k in places if squares[k]]
    return ((), *((k,) for k in places), *own, *combinations(places, 2))


def columns_of(terms: Sequence[Term], scaled: Floats) -> Floats:
    """Every term at every point, (n, terms).

    scaled : factors at the points, each on [-1, 1], (n, factors).
    """
    return np.stack([np.prod(scaled[:, list(term)], axis=1) for term in terms], axis=1)


@dataclass(frozen=True)
class LeastSquares:
    """A fit.

    coefficients : one a term. fitted : at the points, (n,). left_out : what every point differs from the fit
    to all others, (n,). leverage : diagonal of the hat matrix, (n,). sd : residual standard deviation.
    degrees : of freedom of the residuals.

    Notes
    -----
    With X = QR the hat matrix is H = QQ', so a leverage is the sum of squares of a row of Q. The error of a
    point that is left out is e / (1 - h), without a second fit: Allen (1974), Technometrics 16: 125-127;
    Myers, Montgomery & Anderson-Cook, Response Surface Methodology, on PRESS (both from memory).
    """

    coefficients: Floats
    fitted: Floats
    left_out: Floats
    leverage: Floats
    sd: float
    degrees: int
    _triangle: Floats

    @property
    def press(self) -> float:
        """Sum of squares of the errors of points left out."""
        return float(self.left_out @ self.left_out)

    def leverage_at(self, columns: Floats) -> Floats:
        """Variance of the mean response at other places, in units of the residual variance, (m,)."""
        solved = np.linalg.solve(self._triangle.T, columns.T)
        return np.asarray((solved**2).sum(axis=0))


def least_squares(columns: Floats, value: Floats) -> LeastSquares:
    """Fit the terms, (n, terms), to a response, (n,).

    Raises
    ------
    ValueError
        If the points cannot tell the terms apart, or one of them decides a term alone, so nothing checks it.
    """
    n, p = columns.shape
    if n <= p:
        raise ValueError(f"{n} points for the {p} terms of a quadratic")
    if np.linalg.matrix_rank(columns) < p:
        raise ValueError(f"the {n} points cannot tell the {p} terms of a quadratic apart")
    q, triangle = np.linalg.qr(columns)
    leverage = (q**2).sum(axis=1)
    if leverage.max() > _ALONE:
        raise ValueError("one point alone decides a term of the quadratic, and nothing checks it")
    coefficients = np.linalg.solve(triangle, q.T @ value)
    fitted = columns @ coefficients
    residuals = value - fitted
    sd = float(np.sqrt(residuals @ residuals / (n - p)))
    return LeastSquares(coefficients, fitted, residuals / (1 - leverage), leverage, sd, n - p, triangle)
