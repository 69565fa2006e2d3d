"""Main effects and pairs of a study: the mean of a response over the points that share values of factors."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from towerpace.units import Floats

if TYPE_CHECKING:
    from pandas import DataFrame

BINS = 5  # of a factor with more values than can stand side by side
MOST_VALUES = 12


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
    squares. In any other design the points of a value also differ by chance in the other factors, so the
    interval is the t interval of the mean over the points.
    """
    rows = frame[frame["response"] == response].copy()
    for name in factors:
        rows[name] = _binned(rows[name])
    design, draws = frame.attrs["design"], frame.attrs["draws"]
    means = []
    for key, group in rows.groupby(list(factors), sort=True, observed=True):
        three = [group[name].to_numpy(dtype=np.float64) for name in ("value", "low", "high")]
        mean, low, high = _of_grid(*three, draws=draws) if design == "grid" else _over_points(three[0])
        means.append((*key, mean, low, high, len(group)))
    return _in_order(means, rows, factors)


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
