"""A slice of a metamodel: the factors that are shown, the middle of all others, and what it says in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from towerpace.answers.said.people import words
from towerpace.answers.sweep.metamodel import Metamodel, metamodel
from towerpace.answers.sweep.worth import brief
from towerpace.render.saved.study import SavedStudy
from towerpace.units import Floats

if TYPE_CHECKING:
    from pandas import DataFrame

FEW = 12  # values of a factor up to which its middle is one of them
NEAR = 0.3  # of half a range, beside a cut
FEWEST, NEAREST = 3, 8  # with fewer points as near, the nearest ones are shown
# Shares of a range cut off at both ends until all corners have points nearby.
_SHRINKING = (0.0, 0.1, 0.2, 0.3)


@dataclass(frozen=True)
class Slice:
    """A plane through a metamodel, or a line where a study has one factor.

    shown : the factor that moves the response most, and the second. middle : of every factor.
    """

    saved: SavedStudy
    model: Metamodel
    shown: tuple[str, ...]
    middle: dict[str, float]

    @property
    def points(self) -> DataFrame:
        """Rows of the response at all points."""
        return self.saved.frame[self.saved.frame["response"] == self.model.response]

    @property
    def unit(self) -> str:
        """Unit of the response, as it follows a number."""
        unit = self.saved.units[self.model.response]
        return {"d": " days", "-": ""}.get(unit, f" {unit}")

    def range(self, name: str) -> tuple[float, float]:
        """Ends of a factor."""
        at = self.model.factors.index(name)
        return self.model.lows[at], self.model.highs[at]

    def near(self, along: str) -> DataFrame:
        """Points with a value close to the cut along a factor, with what they would be on it.

        Their distance from the fit stays: value, low and high move by what the surface changes between the
        point and the cut, so that the other factors do not pass for an error.
        """
        rows = self.points[self.points["value"].notna()].copy()
        away = self._away(rows, along=along)
        close = away <= NEAR
        if close.sum() < FEWEST:
            close = away <= np.sort(away)[:NEAREST].max()
        rows = rows[close]
        own = {name: rows[name].to_numpy(dtype=float) for name in self.model.factors}
        on_cut: dict[str, ArrayLike] = {**self.middle, along: own[along]}
        reached = self.model.inside(on_cut)
        rows, own = rows[reached], {name: values[reached] for name, values in own.items()}
        moved = self.model.predict({**self.middle, along: own[along]}).mean - self.model.predict(own).mean
        for name in ("value", "low", "high"):
            rows[name] = rows[name] + moved
        return rows

    def _away(self, rows: DataFrame, *, along: str) -> Floats:
        """How far points lie from a cut, in half a range of the factor that is farthest."""
        away = np.zeros(len(rows))
        for name in self.model.factors:
            if name != along:
                low, high = self.range(name)
                away = np.fmax(
                    away, np.abs(rows[name].to_numpy(dtype=float) - self.middle[name]) * 2 / (high - low)
                )
        return away

    def title(self) -> str:
        """How far the first factor moves the response, at both ends of the second."""
        response, first = self.model.response, self.shown[0]
        if len(self.shown) == 1:
            start, end = self.range(first)
            change = float(np.diff(self.model.predict({first: [start, end]}).mean)[0])
            return f"From {self._from(first, start, end)} {response} {self._moved(change)}"
        corners = self.corners()
        if corners is None:
            return f"{response} over {words(first)} and {words(self.shown[1])}"
        (start, end), (one, other), (at_one, at_other) = corners
        head = f"From {self._from(first, start, end)} {response}"
        second = self.shown[1]
        if at_one * at_other <= 0:
            ends = f"where {self._of(second, one)}, {self._moved(at_other)} where {self._of(second, other)}"
            return f"{head} {self._moved(at_one)} {ends}"
        if abs(at_one - at_other) < self.model.worth.rms:
            mean = self._moved((at_one + at_other) / 2)
            return f"{head} {mean}, whether {words(second)} is {_number(one)} or {_number(other)}"
        by = self._by(at_other)
        return (
            f"{head} {self._moved(at_one)} where {self._is(second, one)}, {by} where it is {_number(other)}"
        )

    def caption(self) -> str:
        """What the surface is worth, and what is held."""
        worth = self.model.worth
        lines = [
            f"Full quadratic of {worth.points} points: predictive R² {worth.r2_text}, "
            f"leave-one-out error {brief(worth.rms)}{self.unit} (worst {brief(worth.worst)})"
        ]
        held = [self._of(name, self.middle[name]) for name in self.model.factors if name not in self.shown]
        if held:
            lines.append(f"Held at their middle: {', '.join(held)}")
        if any((self._away(self.near(name), along=name) > 0).any() for name in self.shown):
            lines.append("Points beside a cut are moved to it along the surface")
        if self.model.left_out:
            marked = " (crosses)" if len(self.shown) > 1 else ""
            lines.append(f"{self.model.left_out} points left out{marked}: beyond the horizon")
        if self.model.shared_half:
            lines.append(
                "All points share their draws: the whole surface may lie up to "
                f"{brief(self.model.shared_half)}{self.unit} off, which the band holds"
            )
        return "\n".join(lines)

    def corners(self) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float]] | None:
        """Ends of both factors, and what the first does at both ends of the second."""
        for share in _SHRINKING:
            ends = []
            for name in self.shown:
                low, high = self.range(name)
                start, end = low + share * (high - low), high - share * (high - low)
                whole = self.model.whole[self.model.factors.index(name)]
                ends.append((float(np.ceil(start)), float(np.floor(end))) if whole else (start, end))
            first, second = np.meshgrid(*ends)
            places: dict[str, ArrayLike] = {**self.middle, self.shown[0]: first, self.shown[1]: second}
            if self.model.inside(places).all():
                change = np.diff(self.model.predict(places).mean, axis=1).ravel()
                return ends[0], ends[1], (float(change[0]), float(change[1]))
        return None

    def _moved(self, change: float) -> str:
        return f"{'rises' if change > 0 else 'falls'} {self._by(change)}"

    def _by(self, change: float) -> str:
        """A change no finer than the leave-one-out error."""
        digits = min(3, max(0, -int(np.floor(np.log10(self.model.worth.rms or 1.0)))))
        return f"by {abs(change):,.{digits}f}{self.unit}"

    def _from(self, name: str, start: float, end: float) -> str:
        return f"{words(name)} {_number(start)} to {_number(end)}{self._unit_of(name)}"

    def _of(self, name: str, value: float) -> str:
        return f"{words(name)} {_number(value)}{self._unit_of(name)}"

    def _unit_of(self, name: str) -> str:
        unit = self.saved.units.get(name, "")
        return f" {unit}" if unit and unit != "units" else ""

    def _is(self, name: str, value: float) -> str:
        return f"{words(name)} is {_number(value)}"


def slice_of(saved: SavedStudy, response: str, *, factors: Sequence[str] | None = None) -> Slice:
    """The slice through the middle over two factors, by default those with most of the fitted variation.

    Raises
    ------
    ValueError
        If there is no metamodel that may be shown, saying why, or the factors are not two of it.
    """
    model = metamodel(saved.frame, response)
    if not model.fits:
        raise ValueError(model.worth.why_not)
    if factors is None:
        shown = sorted(model.factors, key=lambda name: -model.shares[name])[:2]
    elif len(set(factors)) == 2 and set(factors) <= set(model.factors):
        shown = list(factors)
    else:
        raise ValueError(f"two of the factors {', '.join(model.factors)}, not {', '.join(factors)}")
    ranges = zip(model.factors, model.lows, model.highs, strict=True)
    middle = {name: _middle(saved.frame[name].unique(), low=low, high=high) for name, low, high in ranges}
    return Slice(saved, model, tuple(shown), middle)


def _middle(values: Floats, *, low: float, high: float) -> float:
    """The middle of a range; of a factor with few values the one nearest to it, where there are points."""
    middle = (low + high) / 2
    if len(values) > FEW:
        return middle
    return float(min(values, key=lambda value: (abs(value - middle), value)))


def _number(value: float) -> str:
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.3g}"
