"""Numbers of a scenario: plain ones that remember their source, and spreads, read from TOML values."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from towerpace.scenario.complaints import MISSING, Complaint, RefusalError, shown, unknown_key
from towerpace.scenario.spreads import Spread

_FORMS: dict[str, tuple[str, ...]] = {
    "value": ("value",),
    "shape": ("low", "likely", "high", "shape"),
    "quantiles": ("p10", "p50", "p90"),
    "samples": ("samples", "column"),
}
_ALSO = ("source", "note")
_SHAPES = '"pert" or "triangular" (which of the two, there is no default)'
_KEY_WORDS = {"shape": _SHAPES, "samples": "text", "column": "text"}

# Larger than any number of a building site, small enough for every formula.
LARGEST = 1e12

SampleReader = Callable[[str, str], Sequence[float]]


class Value(float):
    """A number that remembers where it came from; computes as a plain float."""

    __slots__ = ("source",)
    source: str

    def __new__(cls, value: float, source: str = "") -> "Value":
        number = super().__new__(cls, value)
        number.source = source
        return number

    def __reduce__(self) -> tuple[type["Value"], tuple[float, str]]:
        return Value, (float(self), self.source)

    @property
    def value(self) -> float:
        """The plain number."""
        return float(self)


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a number may be: from `low` to `high`, each end allowed unless open."""

    low: float = -math.inf
    high: float = math.inf
    low_open: bool = False
    high_open: bool = False

    def hold(self, value: float) -> bool:
        """Whether a number lies inside; infinities, not-a-number and absurdly large ones never do."""
        above = value > self.low if self.low_open else value >= self.low
        below = value < self.high if self.high_open else value <= self.high
        return abs(value) <= LARGEST and above and below

    def words(self) -> str:
        """The bounds as the end of a sentence."""
        ends = []
        if math.isfinite(self.low):
            ends.append(f"{'above' if self.low_open else 'at least'} {self.low:g}")
        if math.isfinite(self.high):
            ends.append(f"{'below' if self.high_open else 'at most'} {self.high:g}")
        return " and ".join(ends) or "of any sign"


def parse_value(raw: object, *, bounds: Bounds) -> Value:
    """Read a number or ``{ value = 9, source = "..." }``.

    Raises
    ------
    RefusalError
        With every complaint, their paths relative to the value.
    """
    if isinstance(raw, Value):
        raw = {"value": float(raw), "source": raw.source}
    if not isinstance(raw, Mapping):
        return Value(_number(raw, path=(), bounds=bounds, kind="a number"))
    complaints = _shape_complaints(raw, keys=_FORMS["value"])
    if complaints:
        raise RefusalError(complaints)
    return Value(_number(raw["value"], path=("value",), bounds=bounds, kind="a number"), _source(raw))


def parse_spread(raw: object, *, bounds: Bounds, read_samples: SampleReader) -> Spread:
    """Read a number or one of the forms of a spread table.

    Parameters
    ----------
    raw : object
        The TOML value.
    bounds : Bounds
        Where the whole spread must lie.
    read_samples : callable
        Gives the samples of (file, column).

    Raises
    ------
    RefusalError
        With every complaint, their paths relative to the value.
    """
    if isinstance(raw, Spread):
        return _inside(raw, bounds=bounds)
    if not isinstance(raw, Mapping):
        return Spread.constant(_number(raw, path=(), bounds=bounds, kind="a number or a spread"))
    form = max(_FORMS, key=lambda name: len(set(_FORMS[name]) & set(raw)))
    if not set(_FORMS[form]) & set(raw):
        forms = "; ".join(", ".join(keys) for keys in _FORMS.values())
        raise RefusalError(
            [Complaint((), f"a table with the keys {', '.join(raw) or 'none'}", f"one of: {forms}")]
        )
    complaints = _shape_complaints(raw, keys=_FORMS[form])
    if form == "shape" and "shape" in raw and raw["shape"] not in ("pert", "triangular"):
        complaints.append(Complaint(("shape",), shown(raw["shape"]), _SHAPES))
    if complaints:
        raise RefusalError(complaints)
    return _inside(_made(raw, form=form, bounds=bounds, read_samples=read_samples), bounds=bounds)


def _made(raw: Mapping[str, object], *, form: str, bounds: Bounds, read_samples: SampleReader) -> Spread:
    source = _source(raw)
    if form == "samples":
        return Spread.samples(read_samples(str(raw["samples"]), str(raw["column"])), source=source)
    if form == "value":
        number = _number(raw["value"], path=("value",), bounds=bounds, kind="a number")
        return Spread.constant(number, source=source)
    first, second, third = _FORMS[form][:3]
    low, likely, high = _three(raw, keys=(first, second, third))
    _refuse_disorder(raw, keys=(first, second, third), strict=form == "quantiles")
    if form == "quantiles":
        return Spread.quantiles(p10=low, p50=likely, p90=high, source=source)
    make = Spread.pert if raw["shape"] == "pert" else Spread.triangular
    return make(low=low, likely=likely, high=high, source=source)


def _three(raw: Mapping[str, object], *, keys: tuple[str, str, str]) -> list[float]:
    numbers: list[float] = []
    complaints: list[Complaint] = []
    for key in keys:
        try:
            numbers.append(_number(raw[key], path=(key,), bounds=Bounds(), kind="a number"))
        except RefusalError as refused:
            complaints += refused.complaints
    if complaints:
        raise RefusalError(complaints)
    return numbers


def _refuse_disorder(raw: Mapping[str, object], *, keys: tuple[str, str, str], strict: bool) -> None:
    numbers = [float(str(raw[key])) for key in keys]
    rises = numbers == sorted(numbers) and numbers[0] < numbers[2]
    if rises and (not strict or numbers[0] < numbers[1] < numbers[2]):
        return
    found = ", ".join(f"{key} = {number:g}" for key, number in zip(keys, numbers, strict=True))
    sign = "<" if strict else "<="
    rule = f"{keys[0]} {sign} {keys[1]} {sign} {keys[2]}"
    remark = "" if strict else f" and {keys[0]} < {keys[2]} (a single number stands alone)"
    raise RefusalError([Complaint((), found, rule + remark)])


def _inside(spread: Spread, *, bounds: Bounds) -> Spread:
    """The spread if it lies within the bounds; a negligible tail below 0 is cut off."""
    if spread.kind == "quantiles":
        if math.isinf(bounds.low):
            return spread
        try:
            return spread.without_negatives()
        except ValueError:
            found = f"{spread.describe()}, of which more than 1e-6 lies below 0"
            raise RefusalError([Complaint((), found, f"a spread {bounds.words()}")]) from None
    low, high = spread.low, spread.high
    # The ends of a continuous law have no probability, so an open bound may be touched.
    closed = bounds if spread.kind in ("constant", "samples") else Bounds(bounds.low, bounds.high)
    if low is not None and high is not None and closed.hold(low) and closed.hold(high):
        return spread
    raise RefusalError([Complaint((), spread.describe(), f"a number or a spread {bounds.words()}")])


def _number(raw: object, *, path: tuple[str, ...], bounds: Bounds, kind: str) -> float:
    if not isinstance(raw, int | float) or isinstance(raw, bool) or not bounds.hold(raw):
        raise RefusalError([Complaint(path, shown(raw), f"{kind} {bounds.words()}")])
    return float(raw)


def _shape_complaints(raw: Mapping[str, object], *, keys: tuple[str, ...]) -> list[Complaint]:
    """Missing keys, unknown keys and texts of the wrong type."""
    complaints = [unknown_key((key,), keys=keys + _ALSO) for key in raw if key not in keys + _ALSO]
    complaints += [
        Complaint((key,), MISSING, _KEY_WORDS.get(key, "a number")) for key in keys if key not in raw
    ]
    complaints += [
        Complaint((key,), shown(raw[key]), "text")
        for key in ("source", "note", "samples", "column")
        if key in raw and not isinstance(raw[key], str)
    ]
    return complaints


def _source(raw: Mapping[str, object]) -> str:
    return str(raw.get("source", ""))
