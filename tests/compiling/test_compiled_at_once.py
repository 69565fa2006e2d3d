"""Entries compiled at one time: which are due, who compiles what, and that trials then find all of them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from types import SimpleNamespace

import pytest

from support.compiler import is_dependency
from towerpace.compiling import ahead
from towerpace.compiling.ahead import Due, shared_out
from towerpace.compiling.jit import TABLE
from towerpace.engine import kernel

needs_numba = pytest.mark.skipif(not is_dependency("numba"), reason="there is no numba for this machine")

FIRST_AND_SECOND = """
import json
import sys
from towerpace import forecast, load
from towerpace.compiling import ahead, jit
import towerpace.trials.first_time as first_time
from towerpace.engine import kernel
import towerpace.face.forecast

shares = [[]]
shared_out = first_time.shared_out
first_time.cores = lambda: 2
first_time.shared_out = lambda due, most: shares.insert(0, shared_out(due, most)) or shares[0]
is_said = kernel.is_compiled_first()
forecast(load(sys.argv[1]), trials=1, workers=1)
is_said_again = kernel.is_compiled_first()
shares = [[due.entry.py_func.__name__ for due in share] for share in shares[0]]
compiled_here = [entry.py_func.__name__ for entry, _ in jit.TRIAL_ENTRIES if entry.stats.cache_misses]
others = [len(entry.signatures) for entry, _ in jit.TRIAL_ENTRIES if len(entry.signatures) > 1]
print(json.dumps([[is_said, is_said_again], shares, compiled_here, others, len(ahead.entries_due())]))
"""


def test_no_share_is_greater_than_it_must_be_and_there_are_no_more_than_help():
    due = [Due(None, (), size) for size in (21, 8, 5, 4, 3, 1, 1)]
    for most, sizes in ((1, [43]), (2, [21, 22]), (3, [11, 11, 21]), (8, [11, 11, 21])):
        assert sorted(sum(each.size for each in share) for share in shared_out(due, most)) == sizes
    assert shared_out([], 2) == []


@needs_numba
@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere no copy may be made")
def test_a_copy_compiles_what_this_process_then_finds_on_disk_and_nothing_is_compiled_twice(tmp_path):
    environment = os.environ | {"NUMBA_CACHE_DIR": str(tmp_path)}
    command = [sys.executable, "-c", FIRST_AND_SECOND, "scenarios/one_trade/scenario.toml"]

    def forecast():
        printed = subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout
        return json.loads(printed)

    said, (own, copied), compiled_here, others, left = forecast()
    assert len(copied) > 3
    assert (said, sorted(compiled_here), others, left) == ([True, False], sorted(own), [], 0)
    assert forecast() == [[False, False], [], [], [], 0]
    (kept,) = tmp_path.glob("*/rows._stamped.locals.draw_row-*.nbi")
    kept.unlink()
    said, _, compiled_here, _, _ = forecast()
    assert (said, compiled_here) == ([True, False], ["draw_row"])  # not the kernel, and yet it takes a while


@needs_numba
@pytest.mark.parametrize(("called_with", "is_due"), [([], True), (["once"], False)])
def test_where_nothing_can_be_kept_every_process_compiles_first(monkeypatch, called_with, is_due):
    never_kept = SimpleNamespace(signatures=called_with, _cache=object())
    monkeypatch.setattr(ahead, "TRIAL_ENTRIES", [(never_kept, f"({TABLE},)")])
    assert ahead.any_is_due() is is_due
    assert kernel.is_compiled_first() is is_due
    monkeypatch.setattr(kernel, "available", lambda: False)
    assert not kernel.is_compiled_first()
