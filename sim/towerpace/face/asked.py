"""What a caller asked for, checked before the first trial: numbers in their range, names that are there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from towerpace.engine import kernel
from towerpace.engine.names import ENGINES
from towerpace.faults import Fault, InputError, nearest_word

Range = tuple[float, float, float | None]  # value asked, the least allowed, the most allowed if there is one


def check_numbers(file: str, asked: Mapping[str, Range]) -> None:
    """Refuse numbers outside their range; raises `InputError` with all of them.

    >>> check_numbers("tower.toml", {"trials": (0, 1, None), "confidence": (1.5, 0.5, 0.999)})
    Traceback (most recent call last):
    ...
    towerpace.faults.InputError: tower.toml: 2 faults
      trials: found 0; allowed: at least 1
      confidence: found 1.5; allowed: 0.5 to 0.999
    """
    faults = []
    for name, (value, least, most) in asked.items():
        # Asked so that nan, which compares with nothing, is refused too.
        if not (least <= value and (most is None or value <= most)):
            allowed = f"at least {least:g}" if most is None else f"{least:g} to {most:g}"
            faults.append(Fault(file, None, name, f"{value:g}", allowed))
    if faults:
        raise InputError(faults)


def check_name(name: str, names: Iterable[str], *, of: str, what: str) -> None:
    """Refuse a name that is not among those there are; raises `InputError`.

    >>> check_name("percentile", ["finish", "percentiles"], of="Forecast", what="frame")
    Traceback (most recent call last):
    ...
    towerpace.faults.InputError: Forecast: 1 fault
      frame: found percentile; allowed: finish, percentiles; nearest: percentiles
    """
    there = list(names)
    if name not in there:
        allowed = ", ".join(there) or "none: there is nothing of the kind here"
        raise InputError([Fault(of, None, what, name, allowed, nearest_word(name, there))])


def check_engine(file: str, name: str) -> None:
    """Refuse an engine that is unknown or cannot run here; raises `InputError`."""
    check_name(name, ENGINES, of=file, what="engine")
    if name == "compiled" and not kernel.available():
        found = "compiled, but numba is not installed or is switched off"
        raise InputError([Fault(file, None, "engine", found, "fastest, reference")])
