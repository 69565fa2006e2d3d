"""The estimates of a study: what every response is worth at a point, with its interval and its unit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from towerpace.answers.cost import PARTS
from towerpace.answers.estimates import LATER, chance, percentile
from towerpace.scenario.study_responses import CHANCE, Response
from towerpace.units import DAY_MIN, Floats, Ints

ONLY_FINISHED = ("held", "criticality")  # a trial that did not finish has no controlling chain
SHARES = ("utilisation", "idle")
SHARE_PARTS = 1_000_000
CONFIDENCE = 0.95


@dataclass(frozen=True)
class ResponseEstimate:
    """One response at one point; None beyond the horizon, or where the trials allow no interval.

    low, high : 95 % interval. trials : those it was made from.
    """

    response: str
    value: float | None
    low: float | None
    high: float | None
    trials: int


def estimate(response: Response, values: Ints) -> ResponseEstimate:
    """A response from its quantity in every trial, (n,), as `StudyReader` gives it.

    A mean is blank if one trial lies beyond the horizon: such trials are never dropped.
    """
    if response.kind in ONLY_FINISHED:
        values = values[values != LATER]
    if not len(values):
        return ResponseEstimate(response.text, None, None, None, 0)
    if response.percentile is not None:
        three = _percentile(values, response.percentile, parts=parts_of(response))
    elif response.statistic == CHANCE:
        interval = chance(values > 0, confidence=CONFIDENCE)
        three = (interval.value, interval.low, interval.high)
    else:
        three = _mean(values, parts=parts_of(response))
    return ResponseEstimate(response.text, *three, len(values))


Three = tuple[float | None, float | None, float | None]


def _percentile(values: Ints, p: float, *, parts: int) -> Three:
    interval = percentile(values, p, confidence=CONFIDENCE)
    low, high = (interval.low, interval.high) if interval.bounded else (None, None)
    value, low_value, high_value = (None if v is None else v / parts for v in (interval.value, low, high))
    return value, low_value, high_value


def _mean(values: Ints, *, parts: int) -> Three:
    """Mean and its t interval."""
    from scipy.stats import t

    if np.any(values == LATER):
        return None, None, None
    n, scaled = len(values), values / parts
    mean = float(scaled.mean())
    if n < 2:
        return mean, None, None
    half = float(t.ppf(0.5 + CONFIDENCE / 2, n - 1)) * float(scaled.std(ddof=1)) / n**0.5
    return mean, mean - half, mean + half


def in_units(quantities: Mapping[str, Ints], *, responses: Sequence[Response]) -> dict[str, Floats]:
    """Every quantity trial by trial in its unit, nan beyond the horizon."""
    parts = {response.quantity: parts_of(response) for response in responses}
    return {name: np.where(v == LATER, np.nan, v / parts[name]) for name, v in quantities.items()}


def parts_of(response: Response) -> int:
    """How many of what is counted make one unit: minutes in a day or hour, thousandths, millionths."""
    counted = {"cost": PARTS, "ledger": 60, "caught": 1, "open_holes": 1}
    counted |= dict.fromkeys(SHARES, SHARE_PARTS)
    return 1 if response.statistic == CHANCE else counted.get(response.kind, DAY_MIN)


def unit_of(response: Response, *, money: str | None) -> str:
    """Unit of a response."""
    units = {"cost": money or "", "ledger": "h", "caught": "lifts a trial", "open_holes": "panels"}
    units |= dict.fromkeys(SHARES, "share")
    return "-" if response.statistic == CHANCE else units.get(response.kind, "d")


def meaning_of(response: Response) -> str:
    """A response in words."""
    names = [str(name) for name in response.names]
    what = {
        "finish": "days from the first midnight to the finish",
        "closing_in": f"days from the first midnight to the closing-in of level {names[-1:]}",
        "handover": f"days from the first midnight to the handover of level {names[-1:]}",
        "done": f"days from the first midnight until {names[:1]} is done on level {names[-1:]}",
        "activity": f"days from the first midnight until {names[:1]} is done",
        "open_holes": "most panels that are lost and not set again at one time",
        "utilisation": f"share of the hours of {names[:1]} held, from first use to last",
        "idle": f"share of the hours of {names[:1]} not held, from first use to last",
        "cost": "cost of a trial",
        "ledger": f"hours of {names[:1]} under the cause {names[-1:]}",
        "held": f"days of the finish held by {names[:1]}",
        "criticality": f"share of the finished trials with {names[:1]} in the controlling chain",
        "contract": f"chance that the contract date {names[:1]} is met",
        "contracts_together": "chance that all contract dates are met together",
        "beyond_horizon": "share of the trials that do not finish inside the horizon",
        "caught": "lifts under way when their hour turned bad",
    }[response.kind]
    what = what.replace("['", "").replace("']", "")
    if response.percentile is not None:
        return f"P{round(100 * response.percentile)} of the {what}"
    return what if response.statistic == CHANCE else f"mean of the {what}"
