"""A metamodel of a study: one response as a full quadratic of its factors, with what it is worth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from towerpace.answers.sweep.quadratic import LeastSquares, Term, columns_of, least_squares, terms_of
from towerpace.answers.sweep.worth import Worth, worth_of
from towerpace.units import Flags, Floats

if TYPE_CHECKING:
    from pandas import DataFrame, Series

CONFIDENCE = 0.95
SCALING = "x = (2 value - low - high) / (high - low)"
_ROUNDING = 1e-9  # of a range, or of a leverage, by which a place may seem to lie outside


@dataclass(frozen=True)
class Prediction:
    """The mean response at some places, and its 95 % confidence interval; shapes as the values given."""

    mean: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True)
class Metamodel:
    """A full quadratic: intercept, linear terms, squares (of factors with three values), cross products.

    response, factors : what of what. lows, highs : ranges of the points, scaled to [-1, 1].
    whole : of every factor, whether it has whole numbers. left_out : points without a value.
    shares : of every factor, the share of the fitted variation that goes with all its terms; a cross product
    goes with two factors, so shares may add up to more than 1.
    worth : whether it may be shown, and the numbers behind that.
    shared_half : half-width of the error that common draws give to all points alike, at the most.

    Notes
    -----
    Plain least squares, every point with the same weight. The Monte Carlo variance of a point would be a
    weight only where it is the error that the fit sees, and it is not: with common draws the errors of the
    points go together, and their differences are far better known than each of them; the variance of a
    percentile is itself a rough estimate, and that of a chance of 0 or 1 is 0; and where the shape is not
    quite quadratic, what is left over is shape, which more trials would not reduce. Plain least squares has
    no bias under any of these.

    The interval is the t interval of the *mean* response (a confidence interval, not one of a new point):
    y +- t s sqrt(h), with s the residual standard deviation and h the leverage of the place; Myers,
    Montgomery & Anderson-Cook, Response Surface Methodology (from memory). With common draws an error that
    all points share shifts the whole surface and leaves no residual; it is at most as large as that of a
    single point, so the half-width of a point (`worth.noise`) is added in squares, and the interval is on the
    safe side. Differences on the surface are free of it where the errors of all points have one variance and
    one correlation: Schruben & Margolin (1978), JASA 73: 504-525 (from memory). A shape that is not
    quadratic is not in the interval either: the leave-one-out error tells of it.
    """

    response: str
    factors: tuple[str, ...]
    lows: tuple[float, ...]
    highs: tuple[float, ...]
    whole: tuple[bool, ...]
    left_out: int
    shares: Mapping[str, float]
    worth: Worth
    shared_half: float
    _terms: tuple[Term, ...]
    _fit: LeastSquares

    @property
    def fits(self) -> bool:
        """Whether it may be shown."""
        return not self.worth.why_not

    @property
    def coefficients(self) -> dict[str, float]:
        """By term, in the unit of the response, the factors scaled: "1", "gangs", "gangs^2", "gangs*slip"."""
        return dict(zip(map(self._named, self._terms), self._fit.coefficients.tolist(), strict=True))

    def predict(self, values: Mapping[str, ArrayLike]) -> Prediction:
        """Mean response and its 95 % confidence interval at places inside the design.

        values : of every factor, numbers or arrays that broadcast together.

        Raises
        ------
        ValueError
            For a factor that is missing or unknown, and for places where `inside` is false.
        """
        scaled, shape = self._scaled(values)
        outside = ~self._inside(scaled)
        if outside.any():
            raise ValueError(f"{self._place(scaled[outside][0])} lies outside the points of the design")
        three = self._of_columns(columns_of(self._terms, scaled))
        return Prediction(*(curve.reshape(shape) for curve in (three.mean, three.low, three.high)))

    def marginal(self, points: Mapping[str, ArrayLike], held: Mapping[str, float]) -> Prediction:
        """Mean of the response over points with some factors held: what these do, whatever the others are.

        points : of every factor, values of the points, (n,). held : of some factors, the value instead.

        Source: J. Friedman (2001), Annals of Statistics 29: 1189-1232, partial dependence (from memory).
        """
        n = len(np.asarray(next(iter(points.values()))))
        scaled, _ = self._scaled({**points, **{name: np.full(n, value) for name, value in held.items()}})
        return self._of_columns(columns_of(self._terms, scaled).mean(axis=0, keepdims=True))

    def _of_columns(self, columns: Floats) -> Prediction:
        """Mean and interval of rows of the design, or of their averages, (k, n_terms)."""
        from scipy.stats import t

        mean = columns @ self._fit.coefficients
        factor = float(t.ppf(0.5 + CONFIDENCE / 2, self._fit.degrees))
        half = np.hypot(factor * self._fit.sd * np.sqrt(self._fit.leverage_at(columns)), self.shared_half)
        return Prediction(mean, mean - half, mean + half)

    def inside(self, values: Mapping[str, ArrayLike]) -> Flags:
        """Whether places lie in the ranges of the factors and among the points.

        Corners of the ranges without points nearby are extrapolation too, only hidden: a place is inside if
        its leverage is at most the largest of the points. Montgomery, Peck & Vining, Introduction to Linear
        Regression Analysis, on hidden extrapolation (from memory).
        """
        scaled, shape = self._scaled(values)
        return self._inside(scaled).reshape(shape)

    @property
    def residual_sd(self) -> float:
        """Deviation of the points from the surface, in the unit of the response."""
        return self._fit.sd

    def _named(self, term: Term) -> str:
        names = [self.factors[k] for k in term]
        if len(names) == 2 and names[0] == names[1]:
            return f"{names[0]}^2"
        return "*".join(names) or "1"

    def _scaled(self, values: Mapping[str, ArrayLike]) -> tuple[Floats, tuple[int, ...]]:
        wrong = [f"no value of '{name}'" for name in self.factors if name not in values]
        wrong += [f"'{name}' is no factor of it" for name in values if name not in self.factors]
        if wrong:
            raise ValueError("; ".join(wrong))
        columns = np.broadcast_arrays(*(np.asarray(values[name], dtype=float) for name in self.factors))
        flat = np.stack([column.ravel() for column in columns], axis=1)
        return _scaled(flat, self.lows, self.highs), columns[0].shape

    def _inside(self, scaled: Floats) -> Flags:
        leverage = self._fit.leverage_at(columns_of(self._terms, scaled))
        near = leverage <= self._fit.leverage.max() * (1 + _ROUNDING)
        return np.asarray(near & (np.abs(scaled) <= 1 + _ROUNDING).all(axis=1))

    def _place(self, scaled: Floats) -> str:
        lows, highs = np.array(self.lows), np.array(self.highs)
        values = (lows + highs + scaled * (highs - lows)) / 2
        return ", ".join(f"{name}={value:g}" for name, value in zip(self.factors, values, strict=True))


def metamodel(frame: DataFrame, response: str) -> Metamodel:
    """Fit a full quadratic of all factors that vary.

    Parameters
    ----------
    frame : DataFrame
        From `load_study`; cut down to one label of a factor, the factor is held and no longer in the way.
    response : str
        One of the responses.

    Raises
    ------
    ValueError
        For another response, for factors of labels or truths, where nothing varies, and where the points do
        not determine a quadratic. One that is determined but poor is returned, and says so in `worth`.
    """
    rows = frame[frame["response"] == response]
    if rows.empty:
        raise ValueError(f"no response '{response}'")
    names = _varied(rows)
    kept = rows[rows["value"].notna()]
    if kept.empty:
        raise ValueError(f"{response} lies beyond the horizon at every point")
    names = [name for name in names if kept[name].nunique() > 1]
    value = kept["value"].to_numpy(dtype=float)
    if not names or np.ptp(value) <= _ROUNDING * np.abs(value).max():
        raise ValueError(f"{response} does not change over the points")
    points = kept[names].to_numpy(dtype=float)
    lows, highs = points.min(axis=0), points.max(axis=0)
    scaled = _scaled(points, lows, highs)
    terms = terms_of([kept[name].nunique() > 2 for name in names])
    columns = columns_of(terms, scaled)
    fit = least_squares(columns, value)
    worth = worth_of(fit, kept, response=response, left_out=len(rows) - len(kept))
    shares_draws = frame.attrs.get("draws") == "common" and not np.isnan(worth.noise)
    return Metamodel(
        response,
        tuple(names),
        tuple(lows.tolist()),
        tuple(highs.tolist()),
        tuple(kept[name].dtype.kind == "i" for name in names),
        len(rows) - len(kept),
        _shares(names, terms, columns, value),
        worth,
        worth.noise if shares_draws else 0.0,
        terms,
        fit,
    )


def metamodel_or_why(frame: DataFrame, response: str) -> Metamodel | str:
    """The metamodel, fit to be shown or not; or the sentence that says why there is none."""
    try:
        return metamodel(frame, response)
    except ValueError as refused:
        return str(refused)


def _varied(rows: DataFrame) -> list[str]:
    """Factors with more than one value; raises `ValueError` naming those without numbers."""
    columns = list(rows.columns)
    varied = [name for name in columns[1 : columns.index("response")] if rows[name].nunique() > 1]
    labels = [f"'{name}'" for name in varied if not _numeric(rows[name])]
    if labels:
        raise ValueError(f"a quadratic needs factors with numbers, but labels stand in {', '.join(labels)}")
    return varied


def _numeric(column: Series[Any]) -> bool:
    return column.dtype.kind in "if"


def _scaled(values: Floats, lows: ArrayLike, highs: ArrayLike) -> Floats:
    low, high = np.asarray(lows, dtype=float), np.asarray(highs, dtype=float)
    return np.asarray((2 * values - low - high) / (high - low))


def _shares(names: Sequence[str], terms: Sequence[Term], columns: Floats, value: Floats) -> dict[str, float]:
    """What the fit loses without the terms of a factor, as a share of what it explains."""
    least = _rest(columns, value)
    explained = float(((value - value.mean()) ** 2).sum()) - least
    shares = {}
    for k, name in enumerate(names):
        without = _rest(columns[:, [k not in term for term in terms]], value)
        shares[name] = (without - least) / explained
    return shares


def _rest(columns: Floats, value: Floats) -> float:
    """Sum of squares that least squares leaves over."""
    residuals = value - columns @ np.linalg.lstsq(columns, value, rcond=None)[0]
    return float(residuals @ residuals)
