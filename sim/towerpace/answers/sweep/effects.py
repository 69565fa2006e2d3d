"""Main effects and pairs of a study: the mean of a response over the points that share values of factors."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from towerpace.answers.sweep.metamodel import metamodel_or_why
from towerpace.units import Floats

if TYPE_CHECKING:
    from pandas import DataFrame

BINS = 5  # of a factor with more values than can stand side by side
MOST_VALUES = 12

_Told = Callable[[tuple[Any, ...], "DataFrame"], tuple[float, float, float]]


def effects(frame: DataFrame, response: str, *, factors: Sequence[str]) -> DataFrame:
    """Mean of a response for every combination of the values of some factors, over all other factors.

    Parameters
    ----------
    frame : DataFrame
        From `load_study`, with its `attrs`.
    response : str
        One of the responses.
    factors : sequence of str
        One for main effects, two for a pair.

    Returns
    -------
    DataFrame
        The factors (of a bin its middle), value, low, high (95 %, nan where there is none), points.

    Notes
    -----
    In a grid the other factors are balanced, so only the trials are uncertain. With common draws the errors
    of the points go together: the interval is the mean of the points' intervals, not too narrow because the
    standard error of a mean is at most the mean of the standard errors. With independent draws errors add in
    squares.

    In any other design the points of a value also differ by chance in the other factors, and their plain mean
    would tell of these. Where the study has a metamodel fit to be shown, its marginal is told: the surface at
    the value, in the mean over the other factors of all points. Else what the other factors do on a straight
    line is taken off each point first (a partial mean), with the t interval over the points of the value.
    """
    rows = frame[frame["response"] == response].copy()
    for name in factors:
        rows[name] = _binned(rows[name])
    told = _told_of(frame, rows, response, factors=factors)
    means = []
    for key, group in rows.groupby(list(factors), sort=True, observed=True):
        means.append((*key, *told(key, group), len(group)))
    return _in_order(means, rows, factors)


def _told_of(frame: DataFrame, rows: DataFrame, response: str, *, factors: Sequence[str]) -> _Told:
    """Value, low and high of the points that share values of factors."""
    if frame.attrs["design"] == "grid":
        return lambda _, group: _of_grid(*_three(group), draws=frame.attrs["draws"])
    model = metamodel_or_why(frame, response)
    if not isinstance(model, str) and model.fits and set(factors) <= set(model.factors):
        kept = frame[(frame["response"] == response) & frame["value"].notna()]
        points = {name: kept[name].to_numpy(dtype=float) for name in model.factors}

        def marginal(key: tuple[Any, ...], _: DataFrame) -> tuple[float, float, float]:
            found = model.marginal(points, dict(zip(factors, key, strict=True)))
            return float(found.mean[0]), float(found.low[0]), float(found.high[0])

        return marginal
    columns = list(frame.columns)
    others = [name for name in columns[1 : columns.index("response")] if name not in factors]
    rows["value"] = _without(rows, others)
    return lambda _, group: _over_points(_three(group)[0])


def _three(group: DataFrame) -> tuple[Floats, Floats, Floats]:
    value, low, high = (group[name].to_numpy(dtype=np.float64) for name in ("value", "low", "high"))
    return value, low, high


def _without(rows: DataFrame, others: Sequence[str]) -> Floats:
    """The response less what factors with numbers do on a straight line, at their mean it stays."""
    import pandas as pd

    value = rows["value"].to_numpy(dtype=np.float64)
    names = [n for n in others if pd.api.types.is_numeric_dtype(rows[n]) and rows[n].nunique() > 1]
    known = ~np.isnan(value)
    if known.sum() < len(names) + 3 or not names:
        return value
    columns = rows[names].to_numpy(dtype=np.float64)
    columns = columns - columns[known].mean(axis=0)
    design = np.column_stack([np.ones(known.sum()), columns[known]])
    slopes = np.linalg.lstsq(design, value[known], rcond=None)[0][1:]
    return np.asarray(value - columns @ slopes)


def _in_order(means: list[tuple[Any, ...]], rows: DataFrame, factors: Sequence[str]) -> DataFrame:
    """Numbers ascend; labels keep the order in which the study gives them."""
    import pandas as pd

    table = pd.DataFrame(means, columns=[*factors, "value", "low", "high", "points"])
    for name in reversed(factors):
        if not pd.api.types.is_numeric_dtype(rows[name]):
            order = {label: k for k, label in enumerate(dict.fromkeys(rows[name]))}
            table = table.iloc[np.argsort([order[label] for label in table[name]], kind="stable")]
    return table.reset_index(drop=True)


def _binned(column: Any) -> Any:
    """Values as they are, or of many the middle of bins that hold equally many points."""
    import pandas as pd

    if not pd.api.types.is_numeric_dtype(column) or column.nunique() <= MOST_VALUES:
        return column
    ranks = column.rank(method="first")
    bins = np.ceil(ranks * BINS / len(column)).astype(int)
    return column.groupby(bins).transform("mean")


def _of_grid(value: Floats, low: Floats, high: Floats, *, draws: str) -> tuple[float, float, float]:
    mean = float(value.mean())
    down, up = value - low, high - value
    if draws == "common":
        return mean, mean - float(down.mean()), mean + float(up.mean())
    n = len(value)
    return mean, mean - float(np.sqrt((down**2).sum())) / n, mean + float(np.sqrt((up**2).sum())) / n


def _over_points(value: Floats) -> tuple[float, float, float]:
    from scipy.stats import t

    n, mean = len(value), float(value.mean())
    if n < 2:
        return mean, float("nan"), float("nan")
    half = float(t.ppf(0.975, n - 1)) * float(value.std(ddof=1)) / n**0.5
    return mean, mean - half, mean + half
