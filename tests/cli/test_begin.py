"""The way in: what is typed runs, and Ctrl-C before anything has begun is quiet."""

import os
import signal
import subprocess
import sys

import pytest

from towerpace import __version__

BEGIN = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # whatever the shell that runs this does with it
{before}
from towerpace.cli.begin import main
main()
"""
STOPPED_WHILE_READ = """
import os

class Stop:
    def find_spec(self, name, *_):
        if name == "towerpace.cli.app":
            os.kill(os.getpid(), signal.SIGINT)

sys.meta_path.insert(0, Stop())
"""


def begun(*words, before=""):
    command = [sys.executable, "-c", BEGIN.format(before=before), *words]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_what_is_typed_runs():
    done = begun("--version")
    assert (done.returncode, done.stderr) == (0, "")
    assert __version__ in done.stdout


@pytest.mark.skipif(os.name == "nt", reason="Windows sends no signal to one process")
def test_stopped_while_all_is_still_being_read_it_ends_without_a_traceback():
    done = begun("--version", before=STOPPED_WHILE_READ)
    assert (done.returncode, done.stdout, done.stderr) == (-signal.SIGINT, "", "")
