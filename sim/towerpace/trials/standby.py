"""A copy of this process that gets ready for one piece of work while this one is busy with other things.

Importing what draws and writes takes a second in which trials could be played. Where a copy may be made and
there is a core for it, the copy does that meanwhile, and is handed the work when it is known.
"""

from __future__ import annotations

import atexit
import pickle
from collections.abc import Callable
from multiprocessing import get_context
from multiprocessing.connection import Connection
from typing import Any, Generic, TypeVar

from towerpace.trials.processes import ignore_interrupts, interrupts_held_back, may_copy
from towerpace.trials.team import cores

T = TypeVar("T")
# What is not there to be sent, or to be sent to.
_NOT_SENT = (OSError, EOFError, pickle.PicklingError, TypeError, AttributeError)


class Standby(Generic[T]):
    """Stands by for one piece of work, and ends with this process if there is none.

    get_ready : done by the copy at once. work : done by it with what it is handed.
    """

    def __init__(self, get_ready: Callable[[], object], work: Callable[[T], object]) -> None:
        self._copy = None
        if cores() < 2 or not may_copy():
            return
        context = get_context("fork")
        self._line, far = context.Pipe()
        self._copy = context.Process(target=_stand_by, args=(far, self._line, get_ready, work))
        with interrupts_held_back():
            self._copy.start()
        far.close()
        atexit.register(self.close)  # before the library of processes waits for those that are left

    def has_done(self, thing: T) -> bool:
        """Have it work on a thing; False where there is no copy or it failed, and the work is still to do."""
        if self._copy is None:
            return False
        try:
            self._line.send(thing)
            return bool(self._line.recv())
        except _NOT_SENT:
            return False
        finally:
            self.close()

    def close(self) -> None:
        """End the copy, whatever it is doing."""
        if self._copy is not None:
            self._line.close()
            self._copy.kill()
            self._copy.join()
            self._copy = None


def _stand_by(
    line: Connection[Any, Any],
    far: Connection[Any, Any],
    get_ready: Callable[[], object],
    work: Callable[[Any], object],
) -> None:
    ignore_interrupts()
    far.close()  # or the line would stay open when the parent is gone
    try:
        get_ready()
        work(line.recv())
        line.send(True)
    except BaseException:  # told by the process that does it then
        raise SystemExit(1) from None
