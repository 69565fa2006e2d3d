"""A step from the end of its predecessors to its own end; the compiled twin of `engine.reference.Site`."""

from __future__ import annotations

from towerpace.compiling.jit import inline_part, part
from towerpace.engine.diary import DATE
from towerpace.engine.kernel.arrays import (
    BECOMES_READY,
    ENDS,
    KIND_BITS,
    LOOKED_AT,
    NO_MOVE,
    NONE,
    OPENS,
    ClockArrays,
    TrialArrays,
)
from towerpace.engine.kernel.events import put
from towerpace.engine.kernel.heaps import append, push, stretch, whole
from towerpace.engine.kernel.pools import give_units
from towerpace.engine.kernel.scan import done, next_start, wide
from towerpace.plan.lists import UNBROKEN, WORK


@inline_part
def let_go(trial: TrialArrays, now: int) -> None:
    """Begin the stories of the released steps, and of those that they release; skipped ones pass at once."""
    steps, released = trial.steps, trial.clock.released
    while released[0] > 0:
        step = released[released[0]]
        released[0] -= 1
        if steps.skip[step]:
            steps.ready[step] = steps.started[step] = now
            release_successors(trial, step, now)
        elif steps.date[step] > now:
            steps.enabler[step] = DATE
            expect(trial.clock, step, BECOMES_READY, wide(steps.date[step]))
        else:
            become_ready(trial, step, now)


@inline_part
def expect(clock: ClockArrays, number: int, kind: int, minute: int) -> None:
    """Have something happen to a step (or to a class of a crowd) later; beyond the horizon nothing does."""
    if minute <= clock.horizon:
        put(clock, (minute << KIND_BITS | kind) << clock.bits | number)


@inline_part
def become_ready(trial: TrialArrays, step: int, now: int) -> None:
    """Predecessors have ended and the date has come: wait for pools, wait for the window, or begin."""
    steps = trial.steps
    steps.ready[step] = now
    if is_pinned(trial, step):
        begin_as_seen(trial, step, now)
        return
    if steps.first_need[step] < steps.first_need[step + 1]:
        join_queue(trial, step)
        return
    opens = now
    if steps.window[step] != NONE:
        opens = next_start(trial.windows, steps.window[step], now, steps.expected[step])
    if opens == now:
        begin_service(trial, step, NO_MOVE, now)
    elif opens != NONE:
        expect(trial.clock, step, OPENS, opens)


@inline_part
def is_pinned(trial: TrialArrays, step: int) -> bool:
    """Whether it has been seen when a step began."""
    return bool(trial.clock.has_pins != 0 and trial.steps.began[step] != NONE)


@inline_part
def begin_as_seen(trial: TrialArrays, step: int, now: int) -> None:
    """A pinned step begins when it began; what it needs it takes then, when its key comes."""
    steps, begins = trial.steps, max(trial.steps.began[step], now)
    has_needs = steps.first_need[step] < steps.first_need[step + 1]
    if begins > now:
        expect(trial.clock, step, LOOKED_AT if has_needs else OPENS, begins)
    elif has_needs:
        look_at(trial, step)
    else:
        begin_service(trial, step, NO_MOVE, now)


@inline_part
def key_of(trial: TrialArrays, step: int) -> int:
    """(ready minute if first come, else 0; rank; number) in one number, in the same order."""
    ready = int(trial.steps.ready[step]) if trial.steps.first_come[step] else 0
    return int(ready << trial.clock.bits | trial.steps.turn[step])


@inline_part
def join_queue(trial: TrialArrays, step: int) -> None:
    """Join the waiting steps, and the line if there is one."""
    pools, line = trial.pools, trial.steps.line[step]
    if line != NONE:
        own = stretch(pools.first_in_line, line)
        if not push(pools.line_keys, own, key_of(trial, step)):
            trial.clock.out_of_room[0] = True
    look_at(trial, step)


@inline_part
def look_at(trial: TrialArrays, step: int) -> None:
    """Have a waiting step looked at in this instant."""
    clock = trial.clock
    if not push(clock.to_look_at, whole(clock.to_look_at), key_of(trial, step)):
        clock.out_of_room[0] = True


@part
def begin_service(trial: TrialArrays, step: int, move: int, now: int) -> bool:
    """Begin a step now; a step of no length ends at once: True if it did."""
    trial.steps.started[step] = now
    ends = end_of(trial, step, move, now)
    if ends == now:
        end_service(trial, step, now)
        return True
    if ends != NONE:
        expect(trial.clock, step, ENDS, ends)
    return False


@inline_part
def end_of(trial: TrialArrays, step: int, move: int, now: int) -> int:
    """The minute at which a step that begins now will end; NONE if that lies beyond the horizon."""
    steps = trial.steps
    work, mode = wide(steps.work[step]), steps.mode[step]
    if is_pinned(trial, step):
        if steps.ended[step] != NONE:
            return int(max(steps.ended[step], now))
        # What is left of a pinned step passes from the data date on.
        work, move, now = steps.left[step], 0, max(trial.clock.data_date, now)
    if work > trial.clock.horizon - now - move:
        return NONE
    if mode in (WORK, UNBROKEN):
        return done(trial.windows, steps.window[step], now, work + move, mode == UNBROKEN)
    return int(now + work + move)


@part
def end_service(trial: TrialArrays, step: int, now: int) -> None:
    """End a step: hand over what it gives, and let its successors go."""
    give_units(trial, step, now)
    release_successors(trial, step, now)


@inline_part
def release_successors(trial: TrialArrays, step: int, now: int) -> None:
    """Write the end down; successors whose last predecessor this was are released."""
    steps = trial.steps
    steps.finished[step] = now
    for k in range(steps.first_after[step], steps.first_after[step + 1]):
        successor = steps.after[k]
        # The last predecessor to end enables; of one minute, the highest number.
        last = steps.enabler[successor]
        if last < 0 or steps.finished[last] < now or steps.number[step] > steps.number[last]:
            steps.enabler[successor] = step
        steps.missing[successor] -= 1
        if steps.missing[successor] == 0:
            release(trial.clock, successor)


@inline_part
def release(clock: ClockArrays, step: int) -> None:
    """The predecessors of a step have ended: its story begins next."""
    if not append(clock.released, whole(clock.released), step):
        clock.out_of_room[0] = True
