"""An answer as one JSON object: the same bytes for the same scenario, seed, trials and version."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from towerpace.answers.said.answer import Answer, Run
from towerpace.answers.said.kinds import On
from towerpace.answers.said.tables import Table, Value


def as_json(answer: Answer) -> dict[str, Any]:
    """What was asked and of what, facts by name, tables by name as lists of rows, sentences and cautions.

    Dates are ISO dates; what is not there is null: a date beyond the horizon, an interval of too few trials.
    Numbers carry the precision that they have.
    """
    return {
        "question": answer.question,
        **run_as_json(answer.run),
        "banners": list(answer.banners),
        "said": answer.said,
        "facts": {f.column.name: plain(f.value) for f in answer.facts if On.JSON & f.column.on},
        "tables": {table.name: rows_as_json(table) for table in answer.tables_on(On.JSON)},
        "cautions": list(answer.cautions),
    }


def run_as_json(run: Run) -> dict[str, Any]:
    """What an answer was made from, as the head of its JSON object."""
    return {
        "scenario": run.scenario,
        "hash": run.hash,
        "seed": run.seed,
        "trials": run.trials,
        "trials_asked": run.asked,
        "version": run.version,
        "start": run.start.isoformat(),
    }


def rows_as_json(table: Table) -> list[dict[str, Any]]:
    """A table as a list of objects."""
    names = [(k, column.name) for k, column in enumerate(table.columns) if On.JSON & column.on]
    return [{name: plain(row[k]) for k, name in names} for row in table.rows]


def plain(value: Value) -> Any:
    """A value as JSON has it; what is no number there is null."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
