"""The cells `what`, `level` and `zone` of a row of the site, read as a word and a place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from towerpace.faults import Fault, nearest_word
from towerpace.record.words import By, Place, Word, Words
from towerpace.scenario.complaints import listed
from towerpace.scenario.tables import CsvTable, Row, cell_shown

_MOST_LISTED = 12


def column_faults(table: CsvTable, *, needed: Sequence[str], optional: Sequence[str]) -> list[Fault]:
    """Faults of the first line: columns that lack, and columns that nobody reads."""
    known, faults = (*needed, *optional), []
    if not table.columns:
        return [Fault(table.file, 1, "columns", "an empty file", f"a first line of {', '.join(known)}")]
    for column in needed:
        if column not in table.columns:
            nearest = nearest_word(column, table.columns)
            faults.append(Fault(table.file, 1, column, "missing column", ", ".join(known), nearest))
    for column in table.columns:
        if column not in known:
            nearest = nearest_word(column, known)
            faults.append(
                Fault(table.file, 1, cell_shown(column), "an unknown column", ", ".join(known), nearest)
            )
    return faults


@dataclass(frozen=True)
class PlaceReader:
    """Reads the place of every row of one table; what it cannot read becomes a fault."""

    words: Words
    file: str
    faults: list[Fault]

    def read(self, row: Row) -> tuple[Word, Place] | None:
        """Word and place of a row, or None with a fault."""
        word = self._word(row)
        if word is None:
            return None
        before = len(self.faults)
        level = None if word.by is By.SITE else self._level(row, word)
        zone = self._zone(row, word) if word.by is By.FRONT else ""
        unused = {By.FRONT: (), By.LEVEL: ("zone",), By.SITE: ("level", "zone")}[word.by]
        for column in unused:
            self._refuse_cell(row, column, word)
        if len(self.faults) > before:
            return None
        place = Place(word.name, level, zone or "")
        if place in self.words.totals:
            return word, place
        some = [p.said.removeprefix(f"{word.name} ") for p in self.words.places_of(word.name)]
        where = "a level" if word.by is By.LEVEL else "a front"
        allowed = f"{where} that has any of {word.name}: {_short(some)}"
        self._fault(row, "level, zone", place.said.removeprefix(f"{word.name} "), allowed)
        return None

    def _word(self, row: Row) -> Word | None:
        name = row.cells["what"]
        word = self.words.words.get(name)
        if word is None:
            names = list(self.words.words)
            self._fault(row, "what", cell_shown(name), listed(names), nearest_word(name, names))
        return word

    def _level(self, row: Row, word: Word) -> int | None:
        cell, levels = row.cells["level"], self.words.levels
        allowed = f"a level from {levels[0]} to {levels[-1]}, as {word.name} is told for {word.by.value}"
        try:
            level = int(cell)
        except ValueError:
            level = levels[0] - 1
        if level in levels and cell.lstrip("+-").isascii() and "_" not in cell:
            return level
        self._fault(row, "level", cell_shown(cell), allowed)
        return None

    def _zone(self, row: Row, word: Word) -> str | None:
        cell, zones = row.cells["zone"], self.words.zones
        if cell in zones:
            return cell
        allowed = f"{', '.join(zones)}, as {word.name} is told for {word.by.value}"
        self._fault(row, "zone", cell_shown(cell), allowed, nearest_word(cell, zones))
        return None

    def _refuse_cell(self, row: Row, column: str, word: Word) -> None:
        if row.cells[column]:
            allowed = f"an empty cell, as {word.name} is told for {word.by.value}"
            self._fault(row, column, cell_shown(row.cells[column]), allowed)

    def _fault(self, row: Row, column: str, found: str, allowed: str, nearest: str | None = None) -> None:
        self.faults.append(Fault(self.file, row.line, column, found, allowed, nearest))


def _short(names: Sequence[str]) -> str:
    """Some names in words; of many the first and the last."""
    if len(names) <= _MOST_LISTED:
        return ", ".join(names)
    return f"{', '.join(names[:3])} ... {names[-1]}"
