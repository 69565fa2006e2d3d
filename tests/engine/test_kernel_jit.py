"""The stamp under which the compiled kernel is kept, and what happens where nothing can be kept."""

from __future__ import annotations

import ast
import importlib
import re
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from support.compiler import is_dependency
from towerpace import Plan, Step
from towerpace.engine import kernel
from towerpace.engine.kernel import jit
from towerpace.engine.kernel.run import run

needs_numba = pytest.mark.skipif(not is_dependency("numba"), reason="there is no numba for this machine")


def test_the_stamp_changes_with_every_source_it_is_told_of(tmp_path):
    source = tmp_path / "part.py"
    source.write_text("a = 1\n")
    before = jit.stamp_of_sources(source)
    source.write_text("a = 2\n")
    assert before != jit.stamp_of_sources(source) != jit.stamp_of_sources()


def test_every_source_of_a_constant_that_the_kernel_is_compiled_with_is_in_the_stamp():
    folder = Path(jit.__file__).parent
    compiled = [
        path for path in folder.glob("*.py") if re.search(r"^@(inline_)?part", path.read_text(), re.M)
    ]
    assert len(compiled) > 5
    names = {
        node.module
        for path in compiled
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom)
        and node.module.startswith("towerpace.")
        and any(name.name.isupper() for name in node.names)
    }
    files = {folder.parents[2] / f"{name.replace('.', '/')}.py" for name in names}
    assert {path for path in files if path.parent != folder} <= set(jit.SOURCES_OF_CONSTANTS)
    assert all(path.exists() for path in (*files, *jit.SOURCES_OF_CONSTANTS))


def test_where_the_inside_of_numba_is_not_known_it_compiles_parts_by_itself(monkeypatch):
    monkeypatch.setitem(sys.modules, "towerpace.engine.kernel.unfinished", None)
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


@needs_numba
def test_numba_works_wherever_the_program_asks_for_it():
    """Where this fails the kernel is played uncompiled, and the other tests of it say little."""
    importlib.import_module("numba")
    assert kernel.available()


def test_without_numba_functions_stay_as_they_are(monkeypatch):
    monkeypatch.setattr(jit, "numba", lambda: None)
    assert jit.part(len) is jit.entry(len) is len
    assert not kernel.available()


def test_a_numba_that_does_not_work_is_none(monkeypatch):
    monkeypatch.setitem(sys.modules, "numba", None)
    assert jit.numba.__wrapped__() is None


def test_a_kernel_without_a_cached_index_is_compiled_first(tmp_path, monkeypatch):
    monkeypatch.setattr(kernel, "available", lambda: True)
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
