"""What a value is, which decides how it is kept in files and how people read it."""

from __future__ import annotations

from enum import Enum, Flag, auto


class Kind(Enum):
    """The kind of a column or fact.

    NAME : a word of the scenario or of the program: a trade, a cause, a key. TEXT : words to be read.
    COUNT : whole things. NUMBER : a measure with the unit of its column. DATE : a day. WORKING_DAY : the
    number of a working day, 1 the first. MINUTES, HOURS, DAYS : lengths of time. MONEY : in the unit of the
    scenario's costs. SHARE : 0 to 1. TRUTH : yes or no.
    """

    NAME = "name"
    TEXT = "text"
    COUNT = "count"
    NUMBER = "number"
    DATE = "date"
    WORKING_DAY = "working day"
    MINUTES = "minutes"
    HOURS = "hours"
    DAYS = "days"
    MONEY = "money"
    SHARE = "share"
    TRUTH = "truth"

    @property
    def is_words(self) -> bool:
        """Whether it is read from the left, as words are."""
        return self in _WORDS

    @property
    def is_whole(self) -> bool:
        """Whether its values are whole numbers."""
        return self in _WHOLE

    @property
    def unit(self) -> str:
        """The unit that the kind brings along; other kinds take that of their column."""
        return _UNITS.get(self, "")


_WORDS = {Kind.NAME, Kind.TEXT, Kind.DATE, Kind.TRUTH}
_WHOLE = {Kind.COUNT, Kind.WORKING_DAY, Kind.MINUTES}
_UNITS = {Kind.MINUTES: "min", Kind.HOURS: "h", Kind.DAYS: "d"}


class On(Flag):
    """Where something is shown: on a terminal, on pages (screen, print, notebook), in JSON, as a file.

    SHEET : on the one side of paper for a meeting, where an answer has such; nothing else is shown there.
    """

    TERMINAL = auto()
    PAGE = auto()
    JSON = auto()
    FILE = auto()
    SHEET = auto()
    PEOPLE = TERMINAL | PAGE
    PROGRAMS = JSON | FILE
    ALL = PEOPLE | PROGRAMS
