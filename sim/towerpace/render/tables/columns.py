"""Tables of a saved forecast: their columns, in order, and how each is kept on disk and in memory.

Units end the names; a column that ends in `date` holds days. Blank means beyond the horizon, or that there is
no such thing: no interval from so few trials, no level behind a finish, no contract date.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pandas import DataFrame

TEXT, WHOLE, NUMBER, DATE, TRUTH = "text", "Int64", "float64", "datetime64[s]", "bool"
STAMP = {"scenario_hash": TEXT, "seed": WHOLE, "version": TEXT}

_ESTIMATE = {"p10": DATE, "p50": DATE, "p90": DATE}
TABLES: dict[str, dict[str, str]] = {
    "finish": {"trial": WHOLE, "finish_min": WHOLE, "finish_date": DATE},
    "percentiles": {
        "p": NUMBER,
        "finish_date": DATE,
        "low_date": DATE,
        "high_date": DATE,
        "working_days": WHOLE,
        "bounded": TRUTH,
    },
    "closing_in": {
        "level": WHOLE,
        "height_m": NUMBER,
        **{
            f"{p}_{name}": kind
            for p in ("p50", "p80")
            for name, kind in {"date": DATE, "low_date": DATE, "high_date": DATE, "bounded": TRUTH}.items()
        },
        "contract_date": DATE,
    },
    "contracts": {
        "name": TEXT,
        "kind": TEXT,
        "level": WHOLE,
        "contract_date": DATE,
        "chance": NUMBER,
        "low_chance": NUMBER,
        "high_chance": NUMBER,
    },
    "flow": {
        "trade": TEXT,
        "level": WHOLE,
        "height_m": NUMBER,
        **{f"begun_{p}_date": kind for p, kind in _ESTIMATE.items()},
        **{f"done_{p}_date": kind for p, kind in _ESTIMATE.items()},
    },
    "s_curve": {
        "week_end_date": DATE,
        "panels_p10": WHOLE,
        "panels_p50": WHOLE,
        "panels_p90": WHOLE,
        "panels_total": WHOLE,
    },
    "ledger": {"trade": TEXT, "cause": TEXT, "mean_h": NUMBER},
    "ledger_by_level": {"trade": TEXT, "level": WHOLE, "cause": TEXT, "mean_h": NUMBER},
    "assumptions": {"key": TEXT, "text": TEXT, "source": TEXT, "source_missing": TRUTH},
}


Tables = Mapping[str, Mapping[str, str]]


def kinds(table: str, *, tables: Tables = TABLES) -> dict[str, str]:
    """Columns of a table with their kinds, the stamp of the run last."""
    return {**tables[table], **STAMP}


def frame(
    table: str,
    rows: Iterable[tuple[object, ...]],
    *,
    stamp: tuple[str, int, str],
    tables: Tables = TABLES,
) -> DataFrame:
    """A table from its rows, every row marked with the run it came from.

    stamp : scenario hash, seed, version. tables : columns of all tables of a folder with their kinds.
    """
    import pandas as pd

    columns = list(zip(*rows, strict=True)) or [()] * len(tables[table])
    made = {
        name: _column(list(values), kind)
        for (name, kind), values in zip(tables[table].items(), columns, strict=True)
    }
    count = len(columns[0])
    for (name, kind), value in zip(STAMP.items(), stamp, strict=True):
        made[name] = _column([value] * count, kind)
    return pd.DataFrame(made)


def _column(values: list[Any], kind: str) -> object:
    import pandas as pd

    if kind == TEXT:
        return pd.Series(values, dtype="str")
    if kind == DATE:
        return pd.Series(pd.to_datetime(pd.Series(values, dtype="object")), dtype=DATE)
    if kind == WHOLE:
        return pd.Series(pd.array(values, dtype="Int64"))
    return pd.Series(values, dtype=kind)


def read(table: str, path: object, *, tables: Tables = TABLES) -> DataFrame:
    """A table from its CSV.

    Raises `ValueError` where the columns are not those of the table.
    """
    import pandas as pd

    # Names such as "NA" are words of the user: only an empty cell is blank.
    raw = pd.read_csv(str(path), dtype="str", keep_default_na=False)
    if list(raw.columns) != list(kinds(table, tables=tables)):
        raise ValueError(f"columns {', '.join(raw.columns)}")
    of = kinds(table, tables=tables)
    return pd.DataFrame({name: _parsed(raw[name].tolist(), kind) for name, kind in of.items()})


def _parsed(texts: list[str], kind: str) -> object:
    if kind == TEXT:
        return _column([*texts], kind)
    if kind == TRUTH:
        return _column([{"True": True, "False": False}[text] for text in texts], kind)
    if kind == NUMBER:
        return _column([float(text) if text else float("nan") for text in texts], kind)
    if kind == WHOLE:
        return _column([int(text) if text else None for text in texts], kind)
    return _column([text or None for text in texts], kind)


def write(table: DataFrame, path: object) -> None:
    """A table as CSV, the same bytes for the same table."""
    table.to_csv(str(path), index=False, lineterminator="\n", date_format="%Y-%m-%d")
