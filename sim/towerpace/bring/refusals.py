"""Many faults of one file, told so far as people still read them."""

from collections.abc import Sequence

from towerpace.faults import Fault, InputError

MOST_LISTED = 20


def refuse(faults: Sequence[Fault]) -> None:
    """Raise the faults if there are any, so many of them as people still read."""
    if not faults:
        return
    shown = list(faults[:MOST_LISTED])
    for last in faults[MOST_LISTED : MOST_LISTED + 1]:
        rest = f"{len(faults) - MOST_LISTED} more faults of this file"
        shown.append(Fault(last.file, last.line, last.key, rest, last.allowed))
    raise InputError(shown)
