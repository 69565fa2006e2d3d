"""The dictionary of a study's tables: every column and response with its unit and meaning."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from towerpace.answers.sweep.design import TEXT
from towerpace.answers.sweep.estimates import meaning_of, unit_of
from towerpace.answers.sweep.plan import Study
from towerpace.answers.sweep.store import DICTIONARY
from towerpace.answers.sweep.tables import Columns, Row, write_whole
from towerpace.scenario.study_schema import Factor

COLUMNS = Columns(("name", "what", "unit", "meaning"), (TEXT,) * 4)
# Ends of keys of a scenario that say a unit, the longest first.
_UNITS = {
    "_m_s2": "m/s2",
    "_m_s3": "m/s3",
    "_m_s": "m/s",
    "_mm_h": "mm/h",
    "_degC": "degC",
    "_days": "d",
    "_min": "min",
    "_km": "km",
    "_kg": "kg",
    "_m2": "m2",
    "_h": "h",
    "_m": "m",
    "count": "units",
}
_FIXED = {
    "point": "number of the point, from 1",
    "response": "what the row is of; its unit and meaning stand below",
    "value": "the estimate, in the unit of the response; blank beyond the horizon",
    "low": "lower end of the 95 % interval; blank where the trials allow none",
    "high": "upper end of the 95 % interval; blank where the trials allow none",
    "trials": "trials the estimate was made from",
    "scenario_hash": "first 12 characters of the hash of the scenario at the point",
    "seed": "seed of the draws of the point",
    "version": "version of towerpace",
    "trial": "number of the trial, from 0; equal numbers met equal draws where draws are common",
}


def write_dictionary(study: Study, folder: Path) -> None:
    """Write `columns.csv`."""
    write_whole(folder / DICTIONARY, rows=_rows(study), columns=COLUMNS)


def _rows(study: Study) -> Iterator[Row]:
    cost = study.base.settings.cost
    for name, meaning in _FIXED.items():
        yield name, "column", "", meaning
    for name, factor in study.file.settings.factor.items():
        yield name, "factor", unit_of_factor(factor), _meaning(factor)
    for response in study.file.responses:
        unit = unit_of(response, money=None if cost is None else cost.unit)
        yield response.text, "response", unit, meaning_of(response)
    if study.file.settings.study.keep_trials:
        for response in {asked.quantity: asked for asked in study.file.responses}.values():
            unit = unit_of(response, money=None if cost is None else cost.unit)
            yield (
                response.quantity,
                "column of trials",
                unit,
                "the same in one trial; blank beyond the horizon",
            )


def unit_of_factor(factor: Factor) -> str:
    """The unit as stated, or as the key ends."""
    if factor.unit or factor.key is None:
        return factor.unit
    key = factor.key.removesuffix(".value")
    return next((unit for end, unit in _UNITS.items() if key.endswith(end)), "")


def _meaning(factor: Factor) -> str:
    if factor.key is not None:
        return factor.note or f"the key {factor.key} of the scenario"
    keys = dict.fromkeys(key for replacement in factor.replace or () for key in replacement)
    return factor.note or f"sets of the keys {', '.join(keys)}"
