"""Processes that begin as copies of this one: only where that is safe, and gone with it however it ends."""

from __future__ import annotations

import os
import subprocess
import sys
from threading import Event, Thread

import pytest

from support.ends import ends, has_ended
from towerpace.trials.processes import may_copy

# A process of its own, in which no thread of a test runner stands in the way.
PARENT = """
import multiprocessing, os, sys, threading, time
from towerpace.trials.processes import Processes, may_copy
HERE = {"made": "before the copies"}
def look():
    return HERE.get("made"), threading.active_count()
if __name__ == "__main__":
    assert may_copy()
    HERE["made"] = "just now"
    pool = Processes(2)
    print(*pool.submit(look).result())
    print(*(child.pid for child in multiprocessing.active_children()), flush=True)
    THEN
"""


@pytest.mark.skipif(sys.platform != "linux", reason="copies are made on Linux alone")
def test_copies_have_what_was_made_before_and_end_with_a_parent_that_is_killed(tmp_path):
    script = tmp_path / "parent.py"
    sleep = "pool.submit(time.sleep, 60); pool.submit(time.sleep, 60); time.sleep(60)"
    script.write_text(PARENT.replace("THEN", sleep), encoding="utf-8")
    parent = subprocess.Popen([sys.executable, script], stdout=subprocess.PIPE, text=True)
    made = parent.stdout.readline().split()
    assert made[:2] == ["just", "now"]
    copies = [int(pid) for pid in parent.stdout.readline().split()]
    assert len(copies) == 2
    parent.kill()
    parent.wait()
    parent.stdout.close()
    assert ends(lambda: all(map(has_ended, copies))), "copies outlived their parent"


def test_nothing_is_copied_beside_another_thread_nor_from_one():
    over, seen = Event(), []
    other = Thread(target=lambda: (seen.append(may_copy()), over.wait()))
    other.start()
    try:
        assert not may_copy()
    finally:
        over.set()
        other.join()
    assert seen == [False]


@pytest.mark.skipif(os.name == "nt", reason="no signals to hold back")
def test_ctrl_c_does_not_reach_a_copy(tmp_path):
    script = tmp_path / "parent.py"
    ask = "sys.stdin.readline(); print(*pool.submit(look).result()); pool.shutdown()"
    script.write_text(PARENT.replace("THEN", ask), encoding="utf-8")
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen([sys.executable, script], **pipes) as parent:
        parent.stdout.readline()
        for pid in parent.stdout.readline().split():
            os.kill(int(pid), 2)
        print("", file=parent.stdin, flush=True)
        assert parent.stdout.readline().startswith("just now")


SHARED = """
import os, sys
from pathlib import Path
from towerpace.trials.copies import share_out
here, folder = os.getpid(), Path(sys.argv[1])
def write(number):
    if number == 3 and os.getpid() != here:
        os.kill(os.getpid(), 9)
    if number == 5:
        raise ValueError("five is wrong")
    (folder / str(number)).write_text("here" if os.getpid() == here else "a copy")
share_out(write, range(4), workers=2)
print(*((folder / str(k)).read_text() for k in range(4)), sep=", ")
try:
    share_out(write, (4, 5), workers=2)
except ValueError as error:
    print(error)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="copies are made on Linux alone")
def test_the_share_of_a_lost_copy_is_done_here_and_what_is_wrong_is_told(tmp_path):
    script = tmp_path / "sharing.py"
    script.write_text(SHARED, encoding="utf-8")
    done = subprocess.run([sys.executable, script, tmp_path], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == ["here, here, here, here", "five is wrong"]
    assert not done.stderr
    script.write_text(SHARED.replace("number == 3", "number == 9"), encoding="utf-8")
    done = subprocess.run([sys.executable, script, tmp_path], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[0] == "here, a copy, here, a copy"
