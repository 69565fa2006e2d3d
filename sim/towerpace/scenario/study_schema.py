"""The vocabulary of a study file: its tables and keys."""

from typing import Annotated, Any, Literal

from pydantic import Field

from towerpace.scenario.fields import (
    Count,
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


# Bounded by what an array can number, as those of a command, not by what a site has.
MOST_SEED, MOST_TRIALS = 2**63 - 1, 10_000_000
StudySeed = Annotated[int, Field(ge=0, le=MOST_SEED), Words("a whole number, at least 0")]
StudyTrials = Annotated[
    int, Field(ge=1, le=MOST_TRIALS), Words(f"a whole number, at least 1 and at most {MOST_TRIALS}")
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
    seed: StudySeed
    trials: StudyTrials | None = None
    p80_within_days: NumberAbove0 | None = None
    most_trials: StudyTrials | None = None
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
