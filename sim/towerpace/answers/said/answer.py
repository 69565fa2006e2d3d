"""An answer: everything that one question of the program gives, said once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from towerpace.answers.said.kinds import On
from towerpace.answers.said.tables import Chapter, Fact, Table, Value


@dataclass(frozen=True)
class Run:
    """What an answer was made from.

    scenario, path, hash : name of the tower, file as the user named it, SHA-256 of its content. seed : of all
    random numbers. trials, asked : finished and asked for. start, last : first and last day of the clock.
    levels, zones : of the tower. version : of this program.
    """

    scenario: str
    path: str
    hash: str
    seed: int
    trials: int
    asked: int
    start: date
    last: date
    levels: int
    zones: int
    version: str

    @property
    def fronts(self) -> int:
        """Work areas of one trade: a zone of a level each."""
        return self.levels * self.zones


@dataclass(frozen=True)
class Method:
    """A way in which numbers were made, and where it is written, "" where it is ours. text : in sentences."""

    text: str
    source: str = ""


@dataclass(frozen=True)
class Answer:
    """What a question gives; those who show it know tables and kinds, and no question.

    Parameters
    ----------
    question : str
        forecast, compare, ...; also the name under which it is saved.
    run : Run
        What it was made from.
    said : str
        The answer in one or two sentences.
    facts : sequence of Fact
        Single numbers.
    tables : sequence of Table
        In the order in which files and programs get them.
    chapters : sequence of Chapter
        How people read it.
    cautions : sequence of str
        What a reader must know before using it, the gravest first.
    banners : sequence of str
        What must stand above everything, wherever the answer is shown: a wind limit that was raised.
    figures : sequence of str
        Names of the figures that can be drawn of it, the main one first.
    methods : sequence of Method
        How it was made, for pages.
    about : str
        What the question is, for the kicker of a page.
    """

    question: str
    run: Run
    said: str
    facts: Sequence[Fact] = ()
    tables: Sequence[Table] = ()
    chapters: Sequence[Chapter] = ()
    cautions: Sequence[str] = ()
    banners: Sequence[str] = ()
    figures: Sequence[str] = ()
    methods: Sequence[Method] = ()
    about: str = ""

    def table(self, name: str) -> Table:
        """A table by its name; raises `KeyError` for one that is not there."""
        match = next((table for table in self.tables if table.name == name), None)
        if match is None:
            raise KeyError(f"the answer to {self.question} has no table {name}")
        return match

    def fact(self, name: str) -> Value:
        """The value of a fact by its name; raises `KeyError` for one that is not there."""
        for fact in self.facts:
            if fact.column.name == name:
                return fact.value
        raise KeyError(f"the answer to {self.question} has no fact {name}")

    def tables_on(self, where: On) -> list[Table]:
        """The tables that are shown there."""
        return [table for table in self.tables if where & table.on]
