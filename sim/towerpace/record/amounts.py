"""What stands in the cell `done`: units, a share, all, yes, no, or the fate of the mock-up."""

from __future__ import annotations

from dataclasses import dataclass

from towerpace.record.words import How, Word
from towerpace.scenario.tables import finite_number

ALL = {"all", "yes"}
NONE_YET = {"no"}
PASSED, FAILED, OVER = "passed", "failed", "over"


@dataclass(frozen=True, slots=True)
class Amount:
    """How much is done at a place.

    units : done of the total; of the mock-up the tries that failed. whole : whether all is done.
    said : the cell as it was written.
    """

    units: float
    whole: bool
    said: str


def amount_of(cell: str, *, word: Word, total: float) -> Amount | None:
    """The amount in a cell, or None where the word does not allow it.

    total : units of the place; nothing above it is read.

    >>> from towerpace.record.words import By
    >>> seal = Word("seal", By.FRONT, How.UNITS)
    >>> amount_of("60%", word=seal, total=99.0)
    Amount(units=59.4, whole=False, said='60%')
    """
    said = cell.lower()
    if word.how is How.TRIES:
        return _tries(said, total=total)
    if word.how is How.EVENT and said == OVER:
        return Amount(total, True, said)
    if said in NONE_YET:
        return Amount(0.0, False, said)
    if word.how is How.EVENT:
        return Amount(0.0, False, said) if said == "yes" else None
    if said in ALL and not (word.how is How.NOW and said == "yes"):
        return Amount(total, True, said)
    return None if word.how is How.TRUTH else _units(said, word=word, total=total)


def _tries(said: str, *, total: float) -> Amount | None:
    if said in (PASSED, "yes"):
        return Amount(0.0, True, said)
    if said == FAILED:
        return Amount(1.0, False, said)
    if said in NONE_YET:
        return Amount(0.0, False, said)
    number = finite_number(said)
    return Amount(number, False, said) if number is not None and number in range(int(total)) else None


def _units(said: str, *, word: Word, total: float) -> Amount | None:
    number = finite_number(said.removesuffix("%"))
    if number is None or number < 0 or "_" in said:
        return None
    units = total * number / 100 if said.endswith("%") else number
    if units > total or (word.how is not How.UNITS and not float(units).is_integer()):
        return None
    return Amount(units, units == total and word.how is not How.NOW, said)


def allowed_of(word: Word, *, total: float) -> str:
    """What may stand in the cell, in words."""
    most = f"{total:g}"
    return {
        How.UNITS: f"0 to {most}, a share as 60%, all, no or an empty cell",
        How.WHOLE: f"a whole number from 0 to {most}, all, no or an empty cell",
        How.NOW: f"how many there are now, a whole number from 0 to {most}",
        How.TRUTH: "yes, no or an empty cell",
        How.TRIES: f"passed, failed, no, or how many tries have failed, at most {total - 1:g}",
        How.EVENT: "yes (it has befallen), over, no (it will not) or an empty cell",
    }[word.how]
