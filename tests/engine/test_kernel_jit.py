"""The stamp under which the compiled kernel is kept, and what happens where nothing can be kept."""

from __future__ import annotations

import ast
import importlib
import re
from pathlib import Path

import pytest

from support.compiler import is_dependency
from towerpace.engine import kernel
from towerpace.engine.kernel import stamp

needs_numba = pytest.mark.skipif(not is_dependency("numba"), reason="there is no numba for this machine")


def test_every_source_of_a_constant_that_the_kernel_is_compiled_with_is_in_the_stamp():
    folder = Path(kernel.__file__).parent
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
    assert {path for path in files if path.parent != folder} <= set(stamp.SOURCES_OF_CONSTANTS)
    assert all(path.exists() for path in (*files, *stamp.SOURCES_OF_CONSTANTS))


@needs_numba
def test_numba_works_wherever_the_program_asks_for_it():
    """Where this fails the kernel is played uncompiled, and the other tests of it say little."""
    importlib.import_module("numba")
    assert kernel.available()
