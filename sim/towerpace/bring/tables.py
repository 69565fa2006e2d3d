"""A table of someone else's file: cells as they stand there, each with the address that people see."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from towerpace.faults import Fault

Value = object  # text, whole number, number, date, truth, or None for an empty cell


@dataclass(frozen=True, slots=True)
class SourceRow:
    """One row: its number in the file, from 1, and its cells by heading."""

    number: int
    cells: Mapping[str, Value]

    @property
    def empty(self) -> bool:
        """Whether nothing stands in the row."""
        return all(value is None or value == "" for value in self.cells.values())


@dataclass(frozen=True, slots=True)
class SourceTable:
    """A table below one row of headings.

    Parameters
    ----------
    file : str
        The file as the user named it.
    headings : tuple of str
        Headings in order; columns without one are not in the table.
    rows : tuple of SourceRow
        All rows below the headings, empty ones too.
    place : callable
        Line and address of a cell from row number and heading: for faults.
    unnamed : int
        Columns that hold something below no heading.
    notes : tuple of str
        What people should know of the file, as hidden rows.
    """

    file: str
    headings: tuple[str, ...]
    rows: tuple[SourceRow, ...]
    place: Callable[[int, str], tuple[int | None, str]]
    unnamed: int = 0
    notes: tuple[str, ...] = ()

    def fault(self, row: int, heading: str, *, found: str, allowed: str) -> Fault:
        """A fault of one cell."""
        line, address = self.place(row, heading)
        return Fault(self.file, line, address, found, allowed)
