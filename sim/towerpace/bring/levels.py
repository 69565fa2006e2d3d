"""A planner's spreadsheet brought in as the level table of a scenario."""

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from towerpace.bring.brought import Brought, Tally
from towerpace.bring.level_cells import EMPTY, CellReading, kind_of, value_shown
from towerpace.bring.tables import SourceRow, SourceTable
from towerpace.faults import Fault, InputError, nearest_word
from towerpace.scenario.guarded import guarded
from towerpace.scenario.levels import DELIVERY, REQUIRED, Levels, levels_from
from towerpace.scenario.tables import CsvTable, Row

_COUNT_COLUMN = re.compile(r"[a-z][a-z0-9_]*")


@dataclass(frozen=True, slots=True)
class Mapped:
    """Which column of ours each heading is, and what the user says for all rows.

    Parameters
    ----------
    columns : mapping
        Our column and the heading it is read from.
    constants : mapping
        Our column and the cell that every row has.
    left_out : tuple of str
        Headings that are not read though their names would do.
    last_row : int or None
        Last row that is read; those below it (sums, remarks) are left out.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    constants: Mapping[str, str] = field(default_factory=dict)
    left_out: tuple[str, ...] = ()
    last_row: int | None = None


def bring_levels(source: SourceTable, *, mapped: Mapped, reading: CellReading) -> Brought:
    """A level table from a spreadsheet.

    Parameters
    ----------
    source
        The table as read.
    mapped
        Which heading is which column. A heading that bears the name of one of our columns (level, zone,
        height_m, difficulty, handover, delivery) is taken without being said; counts must be said.
    reading
        How numbers, dates and levels are written.

    Raises
    ------
    InputError
        With every cell that cannot be read, each with its address, and everything that the level table
        itself asks for: every zone on every level once, heights that rise.
    """
    columns = _columns(source, mapped=mapped)
    last_row = mapped.last_row if mapped.last_row is not None else max(row.number for row in source.rows)
    inside = [row for row in source.rows if row.number <= last_row]
    rows, faults = [], list[Fault]()
    for row in inside:
        if not row.empty:
            cells = _cells(row, source=source, columns=columns, reading=reading, faults=faults)
            rows.append(Row(row.number, {**mapped.constants, **cells}))
    names = _in_order([*columns, *mapped.constants])
    levels = _checked(rows, names=names, source=source, columns=columns, faults=faults)
    return Brought(
        text=_csv(names, rows=rows),
        sources=(Path(source.file),),
        tallies=_tallies(source, rows=rows, inside=inside, columns=columns),
        left_out=_left_out(source, inside=inside, columns=columns),
        lines=_sums(levels, columns=columns, inside=inside),
        warnings=source.notes,
    )


def _columns(source: SourceTable, *, mapped: Mapped) -> dict[str, str]:
    """Heading of each of our columns that comes from the source."""
    faults = []
    columns = {}
    for column, heading in mapped.columns.items():
        if heading not in source.headings:
            faults.append(_no_heading(heading, option=f"--column {column}", source=source))
        if not _COUNT_COLUMN.fullmatch(column):
            allowed = "a name of lower-case letters, digits and _"
            faults.append(Fault(source.file, None, f"--column {column}", f'"{column}"', allowed))
        columns[column] = heading
    spoken_for = {*columns.values(), *mapped.left_out, *mapped.constants}
    own = [name for name in source.headings if name in (*REQUIRED, DELIVERY) and name not in spoken_for]
    columns = {**{name: name for name in own}, **columns}
    unknown = [heading for heading in mapped.left_out if heading not in source.headings]
    faults += [_no_heading(heading, option="--leave-out", source=source) for heading in unknown]
    faults += [
        Fault(source.file, None, f"--set {column}", "said and read from the file", "one of both")
        for column in sorted(mapped.constants.keys() & columns.keys())
    ]
    faults += _missing(source, have=[*columns, *mapped.constants])
    if not source.rows:
        faults.append(Fault(source.file, None, "rows", "missing", "one row per level and zone"))
    if faults:
        raise InputError(faults)
    return columns


def _no_heading(heading: str, *, option: str, source: SourceTable) -> Fault:
    nearest = nearest_word(heading, source.headings)
    return Fault(source.file, None, option, f'"{heading}"', ", ".join(source.headings), nearest)


def _missing(source: SourceTable, *, have: Sequence[str]) -> list[Fault]:
    allowed = f"--column OURS=HEADING, of {', '.join(source.headings)}"
    return [
        Fault(source.file, None, column, "missing column", allowed + f", or --set {column}=...")
        for column in REQUIRED
        if column not in have
    ]


def _cells(
    row: SourceRow,
    *,
    source: SourceTable,
    columns: Mapping[str, str],
    reading: CellReading,
    faults: list[Fault],
) -> dict[str, str]:
    cells = {}
    for column, heading in columns.items():
        kind = kind_of(column)
        text = kind.read(row.cells[heading], reading)
        if text is None:
            found, allowed = value_shown(row.cells[heading]), kind.allowed(reading)
            if found == EMPTY:
                allowed = allowed.partition(" (")[0]  # how it might be written otherwise is no help here
            faults.append(source.fault(row.number, heading, found=found, allowed=allowed))
        else:
            cells[column] = text
    return cells


def _checked(
    rows: Sequence[Row],
    *,
    names: Sequence[str],
    source: SourceTable,
    columns: Mapping[str, str],
    faults: list[Fault],
) -> Levels:
    """The level table as a scenario will read it; its faults are told at the rows of the source."""
    whole = tuple(row for row in rows if row.cells.keys() >= set(names))
    levels, wrong = levels_from(CsvTable(source.file, tuple(names), whole, ()))
    for fault in wrong:
        if faults and fault.found.startswith("missing"):
            continue  # a row that could not be read is also a hole
        faults.append(_at_source(fault, source=source, columns=columns, names=names))
    if faults or levels is None:
        raise InputError(dict.fromkeys(faults))  # what is said for all rows is wrong once
    return levels


def _at_source(
    fault: Fault, *, source: SourceTable, columns: Mapping[str, str], names: Sequence[str]
) -> Fault:
    """A fault of the level table, told where its cause stands."""
    heading = columns.get(fault.key)
    if heading is None and fault.key in names:
        return Fault(fault.file, None, f"--set {fault.key}", fault.found, fault.allowed)
    if fault.line is None:
        return fault
    if heading is None:
        return Fault(fault.file, None, f"row {fault.line}, {fault.key}", fault.found, fault.allowed)
    return source.fault(fault.line, heading, found=fault.found, allowed=fault.allowed)


def _in_order(columns: Sequence[str]) -> list[str]:
    first = [column for column in (*REQUIRED, DELIVERY) if column in columns]
    return first + [column for column in columns if column not in first]


def _csv(names: Sequence[str], *, rows: Sequence[Row]) -> str:
    lines = io.StringIO()
    table = csv.writer(lines, lineterminator="\n")
    table.writerow(names)
    table.writerows([guarded(row.cells[name]) for name in names] for row in rows)
    return lines.getvalue()


def _tallies(
    source: SourceTable, *, rows: Sequence[Row], inside: Sequence[SourceRow], columns: Mapping[str, str]
) -> tuple[Tally, ...]:
    empty = sum(row.empty for row in inside)
    below = len(source.rows) - len(inside)
    n_columns = len(source.headings) + source.unnamed
    read = len(set(columns.values()))
    return (
        Tally("rows", len(source.rows), len(rows), {"empty": empty, "below the last row": below}),
        Tally(
            "columns",
            n_columns,
            read,
            {"not named": len(source.headings) - read, "without a heading": source.unnamed},
        ),
    )


def _left_out(
    source: SourceTable, *, inside: Sequence[SourceRow], columns: Mapping[str, str]
) -> tuple[str, ...]:
    unread = [name for name in source.headings if name not in columns.values()]
    below = [row for row in source.rows[len(inside) :] if not row.empty]
    texts = [", ".join(value_shown(v) for v in row.cells.values() if v not in (None, "")) for row in below]
    return (
        *(f'column "{name}"' for name in unread),
        *(f"row {row.number}: {text}" for row, text in zip(below, texts, strict=True)),
    )


def _sums(levels: Levels, *, columns: Mapping[str, str], inside: Sequence[SourceRow]) -> tuple[str, ...]:
    """Size of the table, and the sum of every count as written against that of the source's own cells."""
    low, high = levels.levels[0], levels.levels[-1]
    lines = [f"levels {low} to {high}, zones {', '.join(levels.zones)}"]
    for column, counts in levels.counts.items():
        heading = columns.get(column)
        total = int(counts.sum())
        if heading is None:
            lines.append(f"{column}: {total:,} in all, as said")
            continue
        cells = [row.cells[heading] for row in inside if not row.empty]
        in_source = sum(float(str(value)) for value in cells)
        if in_source != total:
            raise ValueError(f"{column}: {total} written, {in_source} in the source")
        lines.append(f"{column}: {total:,} in all, in the source {in_source:,.0f}")
    return tuple(lines)
