"""Whatever a user writes, loading gives a scenario or a report of faults, and never another error."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from minimal_scenario import EVERY_TABLE, EVERY_TABLE_LEVELS, write_every_table

from towerpace.faults import Fault, InputError
from towerpace.scenario import load
from towerpace.scenario.complaints import dotted
from towerpace.scenario.positions import line_index

KEYS = sorted(dotted(path) for path in line_index(EVERY_TABLE))
FREE_TEXTS = ("name", "source", "note")
ODD = st.sampled_from(
    [
        None,
        True,
        -1,
        0,
        10**400,
        1.5,
        float("nan"),
        float("inf"),
        "",
        "x",
        "panels",
        dt.date(1, 1, 1),
        dt.datetime(2027, 3, 1, 7),
        dt.time(7),
        [],
        {},
        [[]],
        [1, "x", {}],
        {"": 1},
        [{"on": 3}, {"on": "seal", "levels_up": 0.5}],
        {"value": "x"},
        {"low": 1, "likely": float("nan"), "high": "3", "shape": []},
        {"p10": 1, "p50": 1, "p90": 2},
        {"samples": "load.csv", "column": "crate", "source": 3},
        {"samples": ".", "column": "crate"},
    ]
)


def faults_of(path: Path, changes: dict[str, Any]) -> tuple[Fault, ...]:
    """Faults of a load; none when it gives a scenario. Any other error passes through and fails the test."""
    try:
        load(path, changes)
    except InputError as error:
        return error.faults
    return ()


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(changes=st.dictionaries(st.sampled_from(KEYS), ODD, min_size=1, max_size=3))
def test_any_value_at_any_key_gives_a_scenario_or_faults(tmp_path: Path, changes: dict[str, Any]):
    path = write_every_table(tmp_path)

    for fault in faults_of(path, changes):
        assert fault.key
        assert fault.found
        assert fault.allowed


@pytest.mark.parametrize("key", [key for key in KEYS if key.rsplit(".", maxsplit=1)[-1] not in FREE_TEXTS])
def test_a_text_that_names_nothing_is_a_fault_wherever_it_stands(tmp_path: Path, key: str):
    path = write_every_table(tmp_path)
    with pytest.raises(InputError) as caught:
        load(path, {key: "a text that names nothing"})

    assert any(fault.key.startswith(f"set {key}") for fault in caught.value.faults)


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_damage_to_the_text_of_both_files_gives_a_scenario_or_faults(tmp_path: Path, data: st.DataObject):
    """A stretch of one of the files is replaced by a few odd characters."""
    texts = {"toml": EVERY_TABLE, "levels": EVERY_TABLE_LEVELS}
    which = data.draw(st.sampled_from(sorted(texts)))
    text = texts[which]
    start = data.draw(st.integers(0, len(text)))
    length = data.draw(st.integers(0, 12))
    odd = data.draw(st.text(alphabet="a1-.,;\"'[]{}=#\n \x00é9", max_size=6))
    texts[which] = text[:start] + odd + text[start + length :]
    path = write_every_table(tmp_path, **texts)

    for fault in faults_of(path, {}):
        lines = Path(fault.file).read_text().count("\n") + 1
        assert fault.line is None or 1 <= fault.line <= lines
