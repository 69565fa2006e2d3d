"""How large a scenario may be: refused before a plan is written that no memory holds."""

from collections.abc import Iterator

from towerpace.faults import Fault
from towerpace.scenario.dates import panel_columns
from towerpace.scenario.raw import Tree, named
from towerpace.scenario.tables import CsvTable

MOST_STEPS = 1_000_000
STEPS_A_PANEL = 2  # to bring and to set it, at the least


def size_faults(tree: Tree, *, table: CsvTable) -> Iterator[Fault]:
    """The row with the most panels, or the whole table, where the plan would have too many steps."""
    columns = [name for name in dict.fromkeys(panel_columns(tree)) if name in table.columns]
    fronts = len(table.rows) * len(list(named(tree, "trade")))
    panels = [(_count(row.cells[name]), row.line, name) for row in table.rows for name in columns]
    steps = fronts + STEPS_A_PANEL * sum(count for count, _, _ in panels)
    if steps <= MOST_STEPS:
        return
    allowed = f"a plan of at most {MOST_STEPS:,} steps; this one would have {steps:,} or more"
    if STEPS_A_PANEL * sum(count for count, _, _ in panels) > fronts:
        most, line, column = max(panels, key=lambda panel: panel[0])
        yield Fault(table.file, line, column, f"{most:,} panels", allowed)
    else:
        yield Fault(table.file, None, "rows", f"{len(table.rows):,} rows", allowed)


def _count(cell: str) -> int:
    return int(cell) if cell.isdigit() and len(cell) < 10 else 0
