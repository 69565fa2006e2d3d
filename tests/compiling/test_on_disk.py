"""Compiled code on disk is never taken for that of other sources, whoever ends or writes at the same time."""

from __future__ import annotations

import time
import weakref

import numpy as np
import pytest

from support.compiler import is_dependency
from towerpace.compiling import jit
from towerpace.plan.minutes import write_minutes
from towerpace.scenario.spread_rows import Row, Run
from towerpace.scenario.spreads import Spread

pytestmark = pytest.mark.skipif(not is_dependency("numba"), reason="there is no numba for this machine")
OLD, NEW = ("from old sources",), ("from new sources",)


class Ended(BaseException):
    """The process that writes has ended."""


@pytest.fixture
def files(tmp_path):
    """The files of one function, as a process finds them."""
    on_disk = pytest.importorskip("towerpace.compiling.on_disk", reason="files of numba, which is not there")
    return lambda stamp=1: on_disk.OwnNames(str(tmp_path), "play-1.py311", (stamp, 1))


def test_entries_are_kept_under_names_of_their_own():
    assert type(write_minutes._cache._cache_file).__name__ == "OwnNames"


def test_two_that_compile_different_sources_at_once_do_not_take_each_others_code(files, monkeypatch):
    first, second = files(), files()
    save_list = first._save_index

    def save_list_and_be_overtaken(listed):
        save_list(listed)
        monkeypatch.setattr(second, "_load_index", dict)  # it looked before the first wrote
        second.save(NEW, "new code")

    monkeypatch.setattr(first, "_save_index", save_list_and_be_overtaken)
    first.save(OLD, "old code")
    assert files().load(OLD) in ("old code", None)
    assert files().load(NEW) == "new code"


@pytest.mark.parametrize("at", ["_save_data", "_save_index"])
def test_who_ends_while_code_is_kept_leaves_none_of_other_sources(files, monkeypatch, at):
    files().save(OLD, "old code")
    ends = files(stamp=2)  # the sources were changed

    def end(*_):
        raise Ended

    monkeypatch.setattr(ends, at, end)
    with pytest.raises(Ended):
        ends.save(NEW, "new code")
    assert files(stamp=2).load(NEW) is None
    files(stamp=2).save(NEW, "new code")
    assert files(stamp=2).load(NEW) == "new code"


@pytest.mark.parametrize("ending", ["nbc", "nbi"])
def test_a_file_that_is_not_whole_is_compiled_again(files, tmp_path, ending):
    files().save(OLD, "old code")
    (file,) = tmp_path.glob(f"*.{ending}")
    for spoilt in (file.read_bytes()[:-3], b"", b"\x00" * 40):
        file.write_bytes(spoilt)
        assert files().load(OLD) is None
        files().save(OLD, "old code")
        assert files().load(OLD) == "old code"


def test_where_nothing_can_be_kept_the_run_goes_on(files, monkeypatch):
    full = files()

    def no_room(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(full, "_save_data", no_room)
    full.save(OLD, "old code")
    assert files().load(OLD) is None


def test_code_of_earlier_sources_goes_and_that_of_another_function_stays(files, tmp_path):
    other = tmp_path / "play-10.py311.7.nbc"
    other.write_bytes(b"of another function")
    files().save(OLD, "old code")
    changed_s = time.time() + 60
    files(stamp=changed_s).save(NEW, "new code")
    assert files(stamp=changed_s).load(NEW) == "new code"
    assert len(list(tmp_path.glob("play-1.py311.*.nbc"))) == 1
    assert other.exists()


def test_where_the_files_of_numba_are_not_known_they_are_left_to_it():
    assert jit._named_on_disk(len) is len


def test_what_compiled_code_reads_lives_as_long_as_its_table():
    """Two threads may both make what is made once; the arrays of the one that is kept must stay."""
    row = Row([Run(np.arange(8), Spread.triangular(low=1, likely=2, high=4))])
    u = np.linspace(0, 1, 8)
    before = row.quantile(u)
    read = weakref.ref(row.arrays.first)
    del row.__dict__["arrays"]  # as another thread puts its own there
    assert read() is not None
    np.testing.assert_array_equal(row.quantile(u), before)
