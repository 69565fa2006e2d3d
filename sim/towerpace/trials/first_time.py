"""The first trial on a new machine, or of a new version, finds nothing compiled."""

from __future__ import annotations

from towerpace.compiling.ahead import Due, entries_due, shared_out
from towerpace.trials.copies import share_out
from towerpace.trials.processes import may_copy
from towerpace.trials.team import cores


def compile_together() -> None:
    """Compile all that is not yet on disk in this process and copies of it; else each when it is called."""
    due = entries_due() if cores() > 1 and may_copy() else []
    if len(due) > 1:
        shares = shared_out(due, cores())
        share_out(_compile, shares, workers=len(shares))


def _compile(share: list[Due]) -> None:
    for due in share:
        due.compile()
