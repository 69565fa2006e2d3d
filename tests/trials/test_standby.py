"""Who gets ready for work while the process is busy: does it, or leaves it to be done, and ends in time."""

from __future__ import annotations

import subprocess
import sys

import pytest

from support.ends import ends, has_ended

# A process of its own, in which no thread of a test runner stands in the way.
SCRIPT = """
import os, signal, sys, time
from pathlib import Path
from unittest import mock
import towerpace.trials.standby as standby

ready, done = Path(sys.argv[1]) / "ready", Path(sys.argv[1]) / "done"

def get_ready():
    ready.write_text(str(os.getpid()))

def work(text):
    if text == "too much":
        raise MemoryError
    done.write_text(f"{text} by {os.getpid()}")

with mock.patch.object(standby, "cores", return_value=2):
    writer = standby.Standby(get_ready, work)
THEN
"""
DONE = """
assert writer.has_done("written")
assert done.read_text() == f"written by {ready.read_text()}" and ready.read_text() != str(os.getpid())
assert not writer.has_done("written again")
with mock.patch.object(standby, "cores", return_value=2):
    for thing in ("too much", lambda: "which nobody can send"):
        assert not standby.Standby(get_ready, work).has_done(thing)
    killed = standby.Standby(lambda: os.kill(os.getpid(), signal.SIGKILL), work)
    assert not killed.has_done("written")
    idle = standby.Standby(lambda: time.sleep(3000), work)
with mock.patch.object(standby, "cores", return_value=1):
    assert not standby.Standby(get_ready, work).has_done("where there is no second core")
print("to the end")
"""
WAITING = """
while not (ready.exists() and ready.read_text()):  # it is there before anything is written to it
    time.sleep(0.01)
print(ready.read_text(), flush=True)
time.sleep(60)
"""

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="copies are made on Linux alone")


def started(folder, then):
    script = folder / "script.py"
    script.write_text(SCRIPT.replace("THEN", then), encoding="utf-8")
    return subprocess.Popen([sys.executable, script, folder], stdout=subprocess.PIPE, text=True)


def test_the_work_is_done_by_the_copy_or_left_where_that_fails(tmp_path):
    with started(tmp_path, DONE) as process:
        said, _ = process.communicate(timeout=600)  # far less than the copy at the end would sleep
    assert said == "to the end\n"
    assert process.returncode == 0


def test_a_copy_ends_with_a_parent_that_is_killed(tmp_path):
    with started(tmp_path, WAITING) as parent:
        copy = int(parent.stdout.readline())
        assert not has_ended(copy)
        parent.kill()
    assert ends(lambda: has_ended(copy)), "the copy outlived its parent"
