"""Work whose only trace are files, shared out to copies of this process that end when it is done."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from multiprocessing import get_context
from typing import TypeVar

from towerpace.trials.processes import ignore_interrupts, interrupts_held_back, may_copy

T = TypeVar("T")


def share_out(do: Callable[[T], object], things: Sequence[T], *, workers: int) -> None:
    """Do something with each thing, in so many processes at most, this one among them.

    A copy has all that this process has, so that nothing is sent. Its share is done again here if it fails:
    then it succeeds, as after a lack of memory, or what is wrong is raised where it can be seen. Where no
    copy may be made everything is done here.
    """
    n = max(1, min(workers, len(things))) if may_copy() else 1
    shares = [things[k::n] for k in range(1, n)]
    context = get_context("fork") if shares else get_context()
    copies = [context.Process(target=_each, args=(do, share), daemon=True) for share in shares]
    with interrupts_held_back():
        for copy in copies:
            copy.start()
    try:
        for thing in things[::n]:
            do(thing)
        for copy in copies:
            copy.join()
    finally:
        for copy in copies:
            copy.kill()
            copy.join()
    for copy, share in zip(copies, shares, strict=True):
        if copy.exitcode != 0:
            for thing in share:
                do(thing)


def _each(do: Callable[[T], object], share: Sequence[T]) -> None:
    ignore_interrupts()
    try:
        for thing in share:
            do(thing)
    except BaseException:  # told by the process that does it again
        raise SystemExit(1) from None
