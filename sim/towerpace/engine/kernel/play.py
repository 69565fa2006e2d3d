"""The compiled clock: from one minute at which something happens to the next."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from towerpace.compiling.addresses import at_addresses
from towerpace.compiling.jit import inline_part, trial_entry
from towerpace.engine.kernel.arrays import (
    BECOMES_READY,
    CROWD_FITS,
    ENDS,
    KIND_BITS,
    MINUTE_0,
    NO_MOVE,
    NOBODY,
    OPENS,
    TrialArrays,
)
from towerpace.engine.kernel.crowds import ring_alarm
from towerpace.engine.kernel.events import first_to_come, take_first
from towerpace.engine.kernel.outset import bring_back, set_out
from towerpace.engine.kernel.stamp import stamp_of_sources
from towerpace.engine.kernel.stories import (
    begin_service,
    end_service,
    let_go,
    look_at,
    release,
)
from towerpace.engine.kernel.turns import serve


@inline_part
def handle(trial: TrialArrays, event: int, now: int) -> None:
    """One event of this minute."""
    bits = trial.clock.bits
    number = event & ((1 << bits) - 1)
    kind = event >> bits & ((1 << KIND_BITS) - 1)
    if kind == ENDS:
        end_service(trial, number, now)
    elif kind == BECOMES_READY:
        release(trial.clock, number)
    elif kind == OPENS:
        begin_service(trial, number, NO_MOVE, now)
    elif kind == CROWD_FITS:
        ring_alarm(trial, number, now)
    else:
        look_at(trial, number)


@inline_part
def run_to_horizon(trial: TrialArrays) -> None:
    """Everything, in the order of the clock: all events of a minute, then the turns, then the next minute."""
    clock, shift = trial.clock, trial.clock.bits + KIND_BITS
    now = MINUTE_0
    while not clock.out_of_room[0]:
        # Whatever begins now ends or is looked at later: nothing adds an event to this minute.
        let_go(trial, now)
        if first_to_come(clock) >> shift == now:
            handle(trial, take_first(clock), now)
        elif not serve(trial, now):
            event = first_to_come(clock)
            if event == NOBODY:
                break
            now = event >> shift


trial_at = at_addresses(TrialArrays)


def _stamped(stamp: int) -> Callable[[Any], bool]:
    """The entry, with the stamp of the kernel's sources built in.

    It plays one trial; False if some list would have grown past its room.
    """

    def play(table: Any) -> bool:
        trial = trial_at(table)
        set_out(trial)
        run_to_horizon(trial)
        bring_back(trial)
        return stamp >= 0 and not trial.clock.out_of_room[0]

    return trial_entry(play)


play = _stamped(stamp_of_sources())
