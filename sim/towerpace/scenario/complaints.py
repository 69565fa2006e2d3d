"""Complaints: faults that know their path in the scenario, but not yet the line.

Checks speak of paths; `load.py` turns a path into file and line.
"""

import datetime as dt
import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from towerpace.faults import nearest_word

Path = tuple[str | int, ...]

UNKNOWN_KEY = "an unknown key"
MISSING = "missing"
_LONGEST_SHOWN = 60
_PLACES_TOLD = 3
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
# Signs that nobody sees (`unseen.py` says which); JSON leaves some of them as they are.
UNSEEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]"
)


@dataclass(frozen=True, slots=True)
class Complaint:
    """What is wrong at a path of the scenario; the words are those of `Fault`.

    cause : complaints of one cause, as a name that nothing defines, are told as one fault; "" stands alone.
    """

    path: Path
    found: str
    allowed: str
    nearest: str | None = None
    cause: str = ""

    def under(self, prefix: Path) -> "Complaint":
        """The same complaint seen from a table further out."""
        return Complaint(prefix + self.path, self.found, self.allowed, self.nearest, self.cause)


class RefusalError(ValueError):
    """A value that cannot be used; its complaints have paths relative to the value."""

    def __init__(self, complaints: Iterable[Complaint]) -> None:
        self.complaints: tuple[Complaint, ...] = tuple(complaints)
        super().__init__(self.complaints)


def quoted(word: str) -> str:
    r"""A word as TOML quotes it, with nothing in it that is not seen.

    >>> print(quoted("as it\x9b is"))
    "as it\u009b is"
    """
    return UNSEEN.sub(lambda sign: f"\\u{ord(sign[0]):04x}", json.dumps(word, ensure_ascii=False))


def dotted(path: Path) -> str:
    """A path as the user writes it.

    >>> dotted(("trade", "panels", "after", 1, "on"))
    'trade.panels.after[1].on'
    """
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            name = part if _BARE_KEY.fullmatch(part) else quoted(part)
            text += f".{name}" if text else name
    return text


def shown(value: object) -> str:
    """A value as it would stand in the file, long ones in words."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(_short(value))
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    if isinstance(value, dict):
        return "a table" if value else "an empty table"
    if isinstance(value, list | tuple):
        return "a list" if value else "an empty list"
    return _short(str(value))


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 3] + "..."


def listed(names: Iterable[str]) -> str:
    """Names as a list in words; says so when there is none."""
    return ", ".join(names) or "none is defined"


def unknown_key(path: Path, *, keys: Sequence[str], remark: str = "") -> Complaint:
    """Complaint about a key that the table does not have."""
    nearest = nearest_word(str(path[-1]), keys)
    return Complaint(path, UNKNOWN_KEY, listed(keys) + (f" ({remark})" if remark else ""), nearest)


def unknown_name(path: Path, name: str, *, names: Sequence[str]) -> Complaint:
    """Complaint about a reference to something that is not defined."""
    allowed = listed(names)
    return Complaint(path, shown(name), allowed, nearest_word(name, names), f"{name} of {allowed}")


def without_echoes(complaints: Sequence[Complaint]) -> list[Complaint]:
    """Drop 'missing' where a misspelt key of the same table is already reported as the nearest word."""
    spelt_wrong = {
        (*complaint.path[:-1], complaint.nearest)
        for complaint in complaints
        if complaint.found == UNKNOWN_KEY and complaint.nearest is not None
    }
    kept = [
        complaint
        for complaint in complaints
        if not (complaint.found == MISSING and complaint.path in spelt_wrong)
    ]
    return one_a_cause(list(dict.fromkeys(kept)))


def one_a_cause(complaints: Sequence[Complaint]) -> list[Complaint]:
    """The first complaint of each cause, which names the places of the others."""
    others: dict[str, list[str]] = {}
    for complaint in complaints:
        if complaint.cause:
            others.setdefault(complaint.cause, []).append(dotted(complaint.path))
    told: set[str] = set()
    kept = []
    for complaint in complaints:
        if complaint.cause not in told:
            places = others.get(complaint.cause, [])[1:]
            also = f" (also at {_some(places)})" if places else ""
            kept.append(
                Complaint(
                    complaint.path,
                    complaint.found + also,
                    complaint.allowed,
                    complaint.nearest,
                    complaint.cause,
                )
            )
            told |= {complaint.cause} - {""}
    return kept


def _some(places: Sequence[str]) -> str:
    if len(places) <= _PLACES_TOLD:
        return ", ".join(places)
    return f"{', '.join(places[:_PLACES_TOLD])} and {len(places) - _PLACES_TOLD} more places"
