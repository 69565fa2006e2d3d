"""Rules on dates, and on what the scenario file asks of the level table."""

import datetime as dt
from collections.abc import Iterator

from towerpace.faults import Fault, nearest_word
from towerpace.scenario.complaints import Complaint, Path, listed, shown
from towerpace.scenario.levels import DELIVERY, Levels, count_columns
from towerpace.scenario.raw import Tree, at, has_panels, named, tables_in, text_at, texts_in
from towerpace.scenario.raw import table as raw_table
from towerpace.scenario.tables import CsvTable


def date_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about dates before the start, spans that end before they begin, and a horizon too short."""
    for name, _ in named(tree, "calendar"):
        for path, span in (*tables_in(tree, "calendar", name, "closed_spans"), *_dated(tree, name)):
            first, last = day_at(span, "from"), day_at(span, "to")
            if first is not None and last is not None and last < first:
                yield Complaint((*path, "to"), shown(last), f"a date on or after from, which is {first}")
    start, horizon_days = start_of(tree), at(tree, ("tower", "horizon_days"))
    if start is None:
        return
    dates = [(name, day) for name, entry in named(tree, "contract") if (day := day_at(entry, "date"))]
    for name, day in dates:
        if day < start:
            yield Complaint(("contract", name, "date"), shown(day), before_start(start))
    if dates and isinstance(horizon_days, int) and not isinstance(horizon_days, bool):
        name, latest = max(dates, key=lambda pair: pair[1])
        if 1 <= horizon_days <= (latest - start).days:
            allowed = f"at least {(latest - start).days + 1}, because contract.{name}.date is {latest}"
            yield Complaint(("tower", "horizon_days"), shown(horizon_days), allowed)


def _dated(tree: Tree, calendar: str) -> Iterator[tuple[Path, Tree]]:
    return tables_in(tree, "calendar", calendar, "dated")


def start_of(tree: Tree) -> dt.date | None:
    """The first day of the scenario, or None when the file gives no good one."""
    return day_at(tree, "tower", "start")


def before_start(start: dt.date) -> str:
    """What is allowed for a date that lies before the start."""
    return f"a date on or after tower.start, which is {start}"


def day_at(tree: object, *path: str | int) -> dt.date | None:
    """The date at a path, or None."""
    value = at(tree, path)
    return value if isinstance(value, dt.date) and not isinstance(value, dt.datetime) else None


def column_rules(tree: Tree, *, table: CsvTable) -> Iterator[Complaint]:
    """Complaints about columns that the level table does not have."""
    columns = count_columns(table)
    paths: list[Path] = [("leave_outs", "column")]
    paths += [("activity", name, "column") for name, _ in named(tree, "activity")]
    for group in ("trade", "family"):
        for name, _ in named(tree, group):
            paths.append((group, name, "column"))
            paths += [(group, name, "classes", k, "column") for k in raw_table(tree, group, name, "classes")]
    for path in paths:
        column = text_at(tree, *path)
        if column is not None and column not in columns:
            allowed = f"a count column of {table.file}: {listed(columns)}"
            yield Complaint(path, shown(column), allowed, nearest_word(column, columns))


def level_rules(tree: Tree, *, levels: Levels) -> Iterator[Complaint]:
    """Complaints about levels that the tower does not have."""
    for name, contract in named(tree, "contract"):
        level = contract.get("level")
        if isinstance(level, int) and not isinstance(level, bool) and level not in levels.levels:
            allowed = f"a level from {levels.levels[0]} to {levels.levels[-1]}"
            yield Complaint(("contract", name, "level"), shown(level), allowed)
        if "level" in contract and "closing_in" not in tree:
            allowed = "level only with a table [closing_in]"
            yield Complaint(("contract", name, "level"), shown(level), allowed, cause=allowed)


def row_faults(tree: Tree, *, table: CsvTable) -> Iterator[Fault]:
    """Faults of the level table that only the scenario file can tell."""
    start = start_of(tree)
    for row in table.rows:
        for column in ("handover", DELIVERY):
            day = _iso(row.cells.get(column, ""))
            if day is not None and start is not None and day < start:
                yield Fault(table.file, row.line, column, str(day), before_start(start))
    if has_panels(tree) and text_at(tree, "delivery", "order") != "call-off":
        yield from _delivery_faults(tree, table=table)


def _delivery_faults(tree: Tree, *, table: CsvTable) -> Iterator[Fault]:
    counted = panel_columns(tree)
    if DELIVERY not in table.columns:
        allowed = "a column delivery, because a trade of kind panels needs it"
        yield Fault(table.file, 1, DELIVERY, "missing column", allowed, nearest_word(DELIVERY, table.columns))
        return
    for row in table.rows:
        has_units = any(row.cells.get(column, "0") not in ("", "0") for column in counted)
        if has_units and not row.cells[DELIVERY]:
            yield Fault(table.file, row.line, DELIVERY, "an empty cell", "a date, because the row has panels")


def panel_columns(tree: Tree) -> list[str]:
    """Columns that count panels, once for each family that is set."""
    families = {
        family
        for trade, entry in named(tree, "trade")
        if entry.get("kind") == "panels"
        for _, family in texts_in(tree, "trade", trade, "families")
    }
    columns = [text_at(tree, "family", family, "column") for family in families]
    return [column for column in columns if column is not None]


def _iso(cell: str) -> dt.date | None:
    try:
        return dt.date.fromisoformat(cell)
    except ValueError:
        return None
