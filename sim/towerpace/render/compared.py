"""A comparison of set-ups in a folder: the JSON object, tidy tables, and figures from them."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from towerpace.answers.cost import PARTS
from towerpace.answers.days import DAY_MIN
from towerpace.answers.estimates import LATER
from towerpace.render.cautions import LIMITS_CAUTION
from towerpace.render.folder import check_folder, write_folder
from towerpace.render.saved.forecast import load_saved
from towerpace.render.saved.manifest import Run, manifest_of_run
from towerpace.render.tables.columns import DATE, NUMBER, TEXT, WHOLE, frame
from towerpace.render.tables.forecast import HASH_SHOWN

if TYPE_CHECKING:
    from pandas import DataFrame

    from towerpace.answers.choice.compare import Compared

Rows = Iterator[tuple[object, ...]]
OBJECT = "compare.json"
DIFFERENCES = ("diff_days", "diff_low", "diff_high", "diff_p80_days", "diff_p80_low", "diff_p80_high")
MONEY = ("diff_cost", "diff_cost_low", "diff_cost_high")
COMPARED_TABLES: dict[str, dict[str, str]] = {
    "setups": {
        "setup": TEXT,
        "setup_hash": TEXT,
        "changes": TEXT,
        "p50_date": DATE,
        "p80_date": DATE,
        "p80_low_date": DATE,
        "p80_high_date": DATE,
        "beyond_trials": WHOLE,
        "mean_cost": NUMBER,
        "unit": TEXT,
        **dict.fromkeys((*DIFFERENCES, *MONEY, "beats_base"), NUMBER),
    },
    "paired": {
        "trial": WHOLE,
        "setup": TEXT,
        "finish_min": WHOLE,
        "finish_date": DATE,
        "diff_days": NUMBER,
        "cost": NUMBER,
        "diff_cost": NUMBER,
    },
    "contracts": {
        "setup": TEXT,
        "name": TEXT,
        "kind": TEXT,
        "level": WHOLE,
        "contract_date": DATE,
        "chance": NUMBER,
        "low_chance": NUMBER,
        "high_chance": NUMBER,
    },
    "ledger_changes": {"setup": TEXT, "trade": TEXT, "cause": TEXT, "hours": NUMBER},
}


def save_compared(
    data: Mapping[str, Any],
    found: Sequence[Compared],
    folder: str | os.PathLike[str],
    *,
    command: str = "towerpace compare",
) -> Path:
    """Write object, tables, figures and manifest of a comparison, or nothing at all.

    data : the object as it is printed. found : the set-ups, the base first.
    Raises `InputError` if the folder holds something that no run has written.
    """
    check_folder(folder)
    base = found[0].forecast
    run = Run(base.scenario, base.tower, base.seed, base.asked, base.trials)
    texts = {OBJECT: json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"}
    return write_folder(
        folder,
        compared_tables(data, found),
        manifest=manifest_of_run(run, command=command, cautions=_cautions(found)),
        draw=_draw,
        texts=texts,
    )


def compared_tables(data: Mapping[str, Any], found: Sequence[Compared]) -> dict[str, DataFrame]:
    """Every table of a comparison by name."""
    stamp = (str(data["hash"])[:HASH_SHOWN], int(data["seed"]), str(data["version"]))
    rows: dict[str, Callable[[], Rows]] = {
        "setups": partial(_setups, data),
        "paired": partial(_paired, found),
        "contracts": partial(_contracts, found),
        "ledger_changes": partial(_ledger_changes, data),
    }
    return {name: frame(name, made(), stamp=stamp, tables=COMPARED_TABLES) for name, made in rows.items()}


def _draw(folder: Path) -> None:
    from towerpace.render.figures.compared import write_compared_figures

    write_compared_figures(load_saved(folder, of=COMPARED_TABLES), folder)


def _cautions(found: Sequence[Compared]) -> list[str]:
    said = [
        f"{one.setup.name}: {one.forecast.beyond} of {one.forecast.trials} trials do not finish inside the "
        "horizon; they count as later than all others."
        for one in found
        if one.forecast.beyond
    ]
    return [*said, LIMITS_CAUTION]


def _setups(data: Mapping[str, Any]) -> Rows:
    for one in data["setups"]:
        changes = ", ".join(f"{key} = {value}" for key, value in one["changes"].items())
        dates = [one[key] for key in ("p50", "p80", "p80_low", "p80_high")]
        differences = [one.get(key) for key in (*DIFFERENCES, *MONEY, "beats_base")]
        about = (one["name"], one["hash"][:HASH_SHOWN], changes)
        yield *about, *dates, one["beyond_horizon"], one["cost"], data["unit"] or "", *differences


def _paired(found: Sequence[Compared]) -> Rows:
    """A row a set-up and trial; differences blank where a trial of either lies beyond the horizon."""
    base = found[0].forecast
    for one in found:
        own = one.forecast
        costs = _costs(one), _costs(found[0])
        for trial, finish in enumerate(own.finish.tolist()):
            known = finish != LATER
            shared = known and trial < base.trials and base.finish[trial] != LATER
            days = (finish - int(base.finish[trial])) / DAY_MIN if shared else None
            cost = None if costs[0] is None or not known else costs[0][trial]
            more = cost - costs[1][trial] if shared and cost is not None and costs[1] is not None else None
            when = (finish, own.days.date_of(finish)) if known else (None, None)
            yield trial, one.setup.name, *when, days, cost, more


def _costs(one: Compared) -> list[float] | None:
    cost = one.forecast.cost
    return None if cost is None else (np.asarray(cost) / PARTS).tolist()


def _contracts(found: Sequence[Compared]) -> Rows:
    for one in found:
        for c in one.forecast.contracts:
            kind = "finish" if c.level is None else "closing-in"
            chance = (c.chance.value, c.chance.low, c.chance.high)
            yield one.setup.name, c.name, kind, c.level, c.date, *chance


def _ledger_changes(data: Mapping[str, Any]) -> Rows:
    for one in data["setups"]:
        for change in one.get("ledger_changes", ()):
            yield one["name"], change["trade"], change["cause"], change["hours"]
