"""How functions are compiled where numba is as known, and where it is not or nothing can be kept."""

from __future__ import annotations

import sys
from types import SimpleNamespace

import pytest

from support.compiler import is_dependency
from towerpace.compiling import jit
from towerpace.engine import kernel

needs_numba = pytest.mark.skipif(not is_dependency("numba"), reason="there is no numba for this machine")


def test_the_stamp_changes_with_every_source_it_is_told_of(tmp_path):
    source = tmp_path / "part.py"
    source.write_text("a = 1\n")
    before = jit.stamp_of(source)
    source.write_text("a = 2\n")
    assert before != jit.stamp_of(source) != jit.stamp_of()


def test_where_the_inside_of_numba_is_not_known_it_compiles_parts_by_itself(monkeypatch):
    monkeypatch.setitem(sys.modules, "towerpace.compiling.unfinished", None)
    assert jit._compiler.__wrapped__("PartCompiler") == jit._compiler.__wrapped__("EntryCompiler") == {}


def test_a_folder_that_cannot_be_written_only_costs_the_cache(monkeypatch):
    asked = []

    def njit(**options):
        asked.append(options)
        if "cache" in options:
            raise RuntimeError("cannot cache function: no locator available")
        return lambda function: function

    monkeypatch.setattr(jit, "numba", lambda: SimpleNamespace(njit=njit))
    assert jit.entry(len) is len
    assert [options.get("cache", False) for options in asked] == [True, False]


@needs_numba
def test_settings_that_numba_does_not_know_are_left_out():
    assert jit._known({"nogil": True, "no such setting": True}) == {"nogil": True}


def test_without_numba_functions_stay_as_they_are(monkeypatch):
    monkeypatch.setattr(jit, "numba", lambda: None)
    assert jit.part(len) is jit.entry(len) is len
    assert not kernel.available()


def test_a_numba_that_does_not_work_is_none(monkeypatch):
    monkeypatch.setitem(sys.modules, "numba", None)
    assert jit.numba.__wrapped__() is None
