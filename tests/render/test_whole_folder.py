"""A run that is killed while it replaces a folder: the earlier results or the new ones, and no rubbish."""

from __future__ import annotations

import logging
import os
import shutil
import signal
from pathlib import Path

import pytest

from towerpace.render import whole_folder
from towerpace.render.whole_folder import beside, put_back, replacing

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a copy of this process")


@pytest.fixture
def run(tmp_path):
    write(tmp_path / "run", "earlier")
    return tmp_path / "run"


@pytest.fixture
def without_exchange(monkeypatch):
    """A system or a disk that cannot exchange two names in one step."""
    monkeypatch.setattr(whole_folder, "_exchanged", lambda *_: False)


def write(target, text):
    with replacing(target) as new:
        (new / "answer").write_text(text)


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def killed(work):
    """Do the work in a copy of this process that is to be killed on the way."""
    copy = os.fork()
    if not copy:
        try:
            work()
        finally:
            os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(copy, 0)[1]) == -signal.SIGKILL


def die(*_, **__):
    os.kill(os.getpid(), signal.SIGKILL)


@pytest.mark.usefixtures("without_exchange")
def test_what_a_run_that_is_killed_between_two_renames_leaves_is_put_back_and_said(run, monkeypatch, caplog):
    rename = Path.rename

    def rename_and_die(place, target):
        rename(place, target)
        die()

    with monkeypatch.context() as patched:
        patched.setattr(Path, "rename", rename_and_die)
        killed(lambda: write(run, "new"))
    assert not run.exists()

    with caplog.at_level(logging.WARNING):
        put_back(run)
    assert (run / "answer").read_text() == "earlier"
    assert "the earlier results are back" in caplog.text


@pytest.mark.parametrize("exchange", [True, False])
def test_a_run_that_is_killed_when_its_folder_has_taken_the_place_leaves_the_new_one(
    run, monkeypatch, exchange
):
    with monkeypatch.context() as patched:
        if not exchange:
            patched.setattr(whole_folder, "_exchanged", lambda *_: False)
        patched.setattr(shutil, "rmtree", die)
        killed(lambda: write(run, "new"))
    assert (run / "answer").read_text() == "new"
    assert len(names(run.parent)) == 2

    write(run, "newer")
    assert names(run.parent) == ["run"]
    assert (run / "answer").read_text() == "newer"


def test_what_another_run_is_writing_is_no_rubbish(run):
    with beside(run) as new:
        write(run, "meanwhile")
        assert new.is_dir()
    assert names(run.parent) == ["run"]


def test_a_folder_of_another_name_is_no_rubbish_of_this_one(run):
    (run.parent / ".run-new-2-new-abcdefgh").mkdir()
    (run.parent / ".run-old-mine").mkdir()
    write(run, "new")
    assert names(run.parent) == [".run-new-2-new-abcdefgh", ".run-old-mine", "run"]


@pytest.mark.usefixtures("without_exchange")
def test_the_earlier_folder_comes_back_where_the_new_one_cannot_take_its_place(run, monkeypatch):
    rename = Path.rename

    def fails_from_new(place, target):
        if "-new-" in place.name:
            raise OSError("no room")
        return rename(place, target)

    monkeypatch.setattr(Path, "rename", fails_from_new)
    with pytest.raises(OSError, match="no room"):
        write(run, "new")
    assert (run / "answer").read_text() == "earlier"
    assert names(run.parent) == ["run"]
