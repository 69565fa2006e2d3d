"""Compare every rule and both disciplines with a table of expected makespans, on a folder of .sm instances.

    python tests/published/run_instances.py FOLDER EXPECTED.csv

Each row of the table names an instance by `set` and `inst` (file j30SET_INST.sm in the folder) and gives
whole numbers in columns such as par_LFT and blk_LFT: par starts whatever fits, blk serves one line for all
resources. Columns of other kinds are counted as left out. Exit code 0: all equal; 1: something differs; 2:
the data cannot be read or an instance is missing.

Instances and rules: R. Kolisch & A. Sprecher 1996, European Journal of Operational Research 96: 205-216;
R. Kolisch 1996, European Journal of Operational Research 90: 320-333 (both from memory).
"""

from __future__ import annotations

import csv
import re
import sys
from dataclasses import dataclass
from pathlib import Path

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from support.drawn import drawn
from support.feasibility import check
from support.instances import RULES, Instance, read_sm
from towerpace.engine.reference import run

COLUMN = re.compile(rf"(par|blk)_({'|'.join(RULES)})")
SHOWN = 10


@dataclass(frozen=True)
class Row:
    """One instance and its expected makespans by column."""

    path: Path
    expected: dict[str, int]


def read_table(table: Path, folder: Path) -> tuple[list[Row], list[str]]:
    """Rows of the table and the names of columns left out; raises `ValueError`, all faults at once."""
    with table.open(newline="", encoding="utf-8") as file:
        reader = csv.DictReader(file)
        names = reader.fieldnames or []
        lines = list(reader)
    if not {"set", "inst"} <= set(names):
        raise ValueError(f"{table}: needs the columns set and inst, found {', '.join(names) or 'none'}")
    columns = [name for name in names if COLUMN.fullmatch(name)]
    if not columns or not lines:
        raise ValueError(f"{table}: no rows, or no column such as par_LFT or blk_LFT")
    rows = [
        Row(folder / f"j30{x['set']}_{x['inst']}.sm", {name: int(x[name]) for name in columns}) for x in lines
    ]
    missing = [row.path.name for row in rows if not row.path.is_file()]
    if missing:
        raise ValueError(
            f"{folder}: {len(missing)} of {len(rows)} instances missing: {', '.join(missing[:SHOWN])}"
        )
    return rows, [name for name in names if name not in columns and name not in ("set", "inst")]


def makespan(instance: Instance, column: str) -> int:
    """Makespan under one column; a diary that was not possible is an error."""
    discipline, rule = column.split("_")
    plan = instance.plan(rule, in_line=discipline == "blk")
    diary = run(plan)
    faults = check(plan, drawn(plan), diary)
    if faults or diary.finish is None:
        raise AssertionError(f"{column}: " + "; ".join(faults or ["never ended"]))
    return diary.finish


def compare(rows: list[Row]) -> tuple[str, int]:
    """A summary, a line a column and a line a difference, and the number of differences."""
    columns = list(rows[0].expected)
    got = {column: [0] * len(rows) for column in columns}
    for k, row in enumerate(rows):
        instance = read_sm(row.path)
        for column in columns:
            got[column][k] = makespan(instance, column)
    lines, wrong = [f"{'column':10}{'equal':>10}{'sum':>9}{'expected':>10}"], []
    for column in columns:
        expected = [row.expected[column] for row in rows]
        pairs = list(zip(rows, got[column], expected, strict=True))
        wrong += [f"  {row.path.name} {column}: {a}, expected {b}" for row, a, b in pairs if a != b]
        equal = f"{sum(a == b for _, a, b in pairs)}/{len(rows)}"
        lines.append(f"{column:10}{equal:>10}{sum(got[column]):>9}{sum(expected):>10}")
    more = [f"  and {len(wrong) - SHOWN} more"] if len(wrong) > SHOWN else []
    return "\n".join([*lines, *wrong[:SHOWN], *more]), len(wrong)


def main(arguments: list[str]) -> int:
    """Read, compare, print; returns the exit code."""
    if len(arguments) != 2:
        print(__doc__)
        return 2
    folder, table = (Path(a) for a in arguments)
    try:
        rows, left_out = read_table(table, folder)
        summary, wrong = compare(rows)
    except (OSError, ValueError) as fault:
        print(fault, file=sys.stderr)
        return 2
    print(summary)
    print(f"{len(rows)} instances, {wrong} differences; columns left out: {', '.join(left_out) or 'none'}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
