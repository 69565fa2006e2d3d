"""Doubts: values that may stand in a scenario, but are seldom meant.

A doubt is no fault: nobody but the user knows the site. It says what was found, what is usual, on whose word,
and what may have been meant, so that twenty knots do not pass for twenty metres a second.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from towerpace.faults import Fault
from towerpace.scenario.complaints import Path
from towerpace.scenario.load import Scenario

PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Doubt:
    """One value that is unusual enough to ask about.

    Parameters
    ----------
    file : str
        File as the user named it.
    line : int or None
        Line of the file, counted from 1; None where no line can be named.
    key : str
        Dotted key or column.
    found : str
        What stands there, or text that begins with "missing".
    usual : str
        What usually stands there.
    source : str
        Who says so.
    perhaps : str, optional
        What may have been meant.

    Examples
    --------
    >>> Doubt("t.toml", 9, "crane.set_up_min", "1 min", "5 to 480 min", "a source", "1 h = 60 min").text()
    'line 9  crane.set_up_min: found 1 min; usual: 5 to 480 min (a source); perhaps 1 h = 60 min'
    """

    file: str
    line: int | None
    key: str
    found: str
    usual: str
    source: str
    perhaps: str | None = None

    def text(self) -> str:
        """The doubt on one line, without its file."""
        place = "" if self.line is None else f"line {self.line}  "
        found = self.found if self.found.startswith("missing") else f"found {self.found}"
        perhaps = "" if self.perhaps is None else f"; perhaps {self.perhaps}"
        return f"{place}{self.key}: {found}; usual: {self.usual} ({self.source}){perhaps}"

    def fault(self) -> Fault:
        """The same as a fault, for who wants doubts refused."""
        meant = "" if self.perhaps is None else f"; perhaps {self.perhaps}"
        allowed = f"with --strict the usual: {self.usual} ({self.source}){meant}"
        return Fault(self.file, self.line, self.key, self.found, allowed)


def doubt_at(
    scenario: Scenario, path: Path, *, found: str, usual: str, source: str = PRACTICE, perhaps: str = ""
) -> Doubt:
    """A doubt about a value of the scenario file, at its line."""
    place = scenario.fault(path, found=found, allowed=usual)
    return Doubt(place.file, place.line, place.key, found, usual, source, perhaps or None)


def in_order(doubts: Iterable[Doubt]) -> list[Doubt]:
    """Doubts of one file sorted by line; those without a line last, ties as they came."""
    return sorted(doubts, key=lambda doubt: (doubt.line is None, doubt.line or 0))


def count_of(doubts: Sequence[Doubt]) -> str:
    """How many warnings, in words."""
    return "1 warning" if len(doubts) == 1 else f"{len(doubts)} warnings"
