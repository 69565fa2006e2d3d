"""The stamp under which the compiled kernel is kept, and what happens where nothing can be kept."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from towerpace import Plan, Step
from towerpace.engine import kernel

pytest.importorskip("numba", reason="the compiled kernel needs numba, which is an extra")
from towerpace.engine.kernel import jit
from towerpace.engine.kernel.run import run


def test_the_stamp_changes_with_every_source_it_is_told_of(tmp_path):
    source = tmp_path / "part.py"
    source.write_text("a = 1\n")
    before = jit.stamp_of_sources(source)
    source.write_text("a = 2\n")
    assert before != jit.stamp_of_sources(source) != jit.stamp_of_sources()


def test_a_folder_that_cannot_be_written_only_costs_the_cache(monkeypatch):
    asked = []

    def njit(**options):
        asked.append(options)
        if "cache" in options:
            raise RuntimeError("cannot cache function: no locator available")
        return lambda function: function

    monkeypatch.setattr(jit, "_numba", lambda: SimpleNamespace(njit=njit))
    assert jit.entry(len) is len
    assert [options.get("cache", False) for options in asked] == [True, False]


def test_settings_that_numba_does_not_know_are_left_out():
    assert jit._known({"nogil": True, "no such setting": True}) == {"nogil": True}


def test_the_kernel_is_there_where_numba_is():
    assert kernel.available()


def test_a_kernel_without_a_cached_index_is_compiled_first(tmp_path, monkeypatch):
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    cache = tmp_path / "__pycache__"
    assert kernel.is_compiled_first(cache)
    cache.mkdir()
    (cache / "play._stamped.locals.play-1.py311.nbi").touch()
    assert not kernel.is_compiled_first(cache)
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    assert not kernel.is_compiled_first(tmp_path / "other")


def test_numba_keeps_the_kernel_where_it_is_looked_for():
    run(Plan([Step("a")]))
    assert not kernel.is_compiled_first()
