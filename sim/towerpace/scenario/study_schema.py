"""The vocabulary of a study file: its tables and keys."""

from typing import Annotated, Any, Literal

from pydantic import Field

from towerpace.scenario.fields import (
    Count,
    CountFrom0,
    Number,
    NumberAbove0,
    Remark,
    SomeNames,
    SourcedTable,
    Table,
    Text,
    Truth,
)
from towerpace.scenario.words import Words

Values = Annotated[tuple[Any, ...], Field(min_length=1), Words("a list of values, at least one")]
Sets = Annotated[
    tuple[Annotated[dict[str, Any], Words("a table of dotted keys")], ...],
    Field(min_length=1),
    Words("a list of tables of dotted keys, at least one"),
]


class Head(SourcedTable):
    """[study]: what is asked.

    scenario : path relative to the study file. trials : of every point, or until the P80 of the finish is
    known to ± p80_within_days, with most_trials at the most. draws : whether all points meet the same draws.
    """

    name: Text
    scenario: Text
    design: Literal["grid", "list", "latin", "sobol"]
    points: Count | None = None
    seed: CountFrom0
    trials: Count | None = None
    p80_within_days: NumberAbove0 | None = None
    most_trials: Count | None = None
    draws: Literal["common", "independent"] = "common"
    responses: SomeNames
    keep_trials: Truth = False


class Factor(SourcedTable):
    """[factor.NAME]: one key of the scenario that varies, or whole sets of keys.

    values : of the key. low, high : range of the key, ends included; whole numbers only if `integer`.
    replace : sets of dotted keys with their values, one set a label.
    """

    key: Text | None = None
    values: Values | None = None
    low: Number | None = None
    high: Number | None = None
    integer: Truth = False
    replace: Sets | None = None
    labels: SomeNames | None = None
    unit: Remark = ""


class StudySettings(Table):
    """A whole study file; factors keep the order of the file."""

    study: Head
    factor: Annotated[dict[str, Factor], Field(min_length=1), Words("tables [factor.NAME]")]
    point: Annotated[
        tuple[Annotated[dict[str, Any], Words("a table with a value of every factor")], ...],
        Words("tables [[point]]"),
    ] = ()
