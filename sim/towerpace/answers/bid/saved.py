"""A bid read back from a results folder: its numbers, and its tables as data frames."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from towerpace.faults import Fault, InputError

if TYPE_CHECKING:
    from pandas import DataFrame

FILE = "bid.json"
FORMAT = 1
# table -> where its rows lie
_TABLES: Mapping[str, tuple[str, ...]] = {
    "needed": ("needed",),
    "contract": ("contract",),
    "damages": ("damages",),
    "sources": ("contingency", "sources"),
    "drivers": ("drivers", "inputs"),
    "swings": ("swings", "numbers"),
    "stages": ("convergence", "stages"),
    "allowance": ("allowance", "rows"),
    "limits": ("allowance", "basis", "limits"),
    "assumptions": ("forecast", "assumptions"),
}


@dataclass(frozen=True)
class SavedBid:
    """data : the whole object of `bid.json`. tables : its lists of rows by name, empty where not played."""

    data: Mapping[str, Any]
    tables: Mapping[str, DataFrame]


def load_bid(folder: str | os.PathLike[str]) -> SavedBid:
    """Read `bid.json` of a results folder; raises `InputError` if it is missing or of another format."""
    from pandas import DataFrame

    path = Path(folder) / FILE
    allowed = f"a bid of format {FORMAT}, as `towerpace bid --out` writes it"
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except (FileNotFoundError, NotADirectoryError):
        raise InputError([Fault(str(path), None, "file", "missing file", allowed)]) from None
    except ValueError as error:
        raise InputError([Fault(str(path), None, "file", f"no JSON: {error}", allowed)]) from None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise InputError([Fault(str(path), None, "format", "another format", allowed)])
    return SavedBid(data, {name: DataFrame(_rows(data, way)) for name, way in _TABLES.items()})


def _rows(data: Any, way: tuple[str, ...]) -> Any:
    for key in way:
        if data is None:
            return []
        data = data[key]
    return data or []
