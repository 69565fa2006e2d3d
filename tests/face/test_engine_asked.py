"""Which engine plays is the user's to say; the tables of its folder do not depend on it."""

from __future__ import annotations

from pathlib import Path

import pytest

from support.compiler import is_dependency
from towerpace import forecast, load
from towerpace.engine import kernel
from towerpace.faults import InputError

ONE_HOIST = Path(__file__).parents[2] / "scenarios" / "one_hoist" / "scenario.toml"


@pytest.mark.slow
def test_both_engines_write_the_same_tables(tmp_path):
    assert kernel.available() == is_dependency("numba")
    scenario = load(ONE_HOIST)

    for engine in ("reference", "fastest"):
        forecast(scenario, trials=3, engine=engine).save(tmp_path / engine)

    left, right = (
        {file.name: file.read_bytes() for file in (tmp_path / engine).iterdir() if file.suffix == ".csv"}
        for engine in ("reference", "fastest")
    )
    assert "ledger.csv" in left
    assert left == right


def test_the_named_engine_plays(monkeypatch):
    def not_this(*_args, **_options):
        raise AssertionError("the reference engine was not asked for")

    monkeypatch.setattr("towerpace.engine.reference.run", not_this)

    with pytest.raises(AssertionError, match="not asked for"):
        forecast(load(ONE_HOIST), trials=1, engine="reference")


def test_an_engine_that_is_not_there_is_refused(monkeypatch):
    monkeypatch.setattr(kernel, "available", lambda: False)

    with pytest.raises(InputError, match="numba is not installed or is switched off"):
        forecast(load(ONE_HOIST), trials=1, engine="compiled")
    with pytest.raises(InputError, match="nearest: reference"):
        forecast(load(ONE_HOIST), trials=1, engine="refrence")
