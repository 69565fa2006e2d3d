"""From the plan's order of steps into the kernel's before a trial, and back behind it."""

from __future__ import annotations

from towerpace.compiling.jit import inline_part
from towerpace.engine.diary import ORIGIN
from towerpace.engine.kernel.arrays import LATEST, NONE, TrialArrays
from towerpace.engine.kernel.stories import release


@inline_part
def set_out(trial: TrialArrays) -> None:
    """The steps at minute 0, as they were drawn; those without predecessors are released."""
    # What is released last is let go first: then dates come in the order of the steps.
    for step in range(len(trial.steps.number) - 1, -1, -1):
        put_at_minute_0(trial, step)
        if trial.steps.missing[step] == 0:
            release(trial.clock, step)


@inline_part
def put_at_minute_0(trial: TrialArrays, step: int) -> None:
    """A step of which nothing has happened yet."""
    steps, drawn, number = trial.steps, trial.drawn, trial.steps.number[step]
    # What lies behind the last minute that there can be never comes, as late as it may be.
    steps.work[step] = min(drawn.work[number], LATEST)
    steps.date[step] = min(drawn.date[number], LATEST)
    steps.skip[step] = drawn.skip[number]
    leader = steps.leader[step]
    must_skip = leader != NONE and drawn.skip[leader]
    if drawn.work[number] < 0 or drawn.skip[number] != must_skip:
        trial.clock.out_of_room[0] = True
    steps.missing[step] = steps.n_before[step]
    steps.ready[step] = steps.started[step] = steps.finished[step] = NONE
    steps.enabler[step] = ORIGIN
    steps.watched[step] = steps.unit[step] = NONE
    steps.is_behind[step] = False


@inline_part
def bring_back(trial: TrialArrays) -> None:
    """The diary, by the number of the step in the plan; nothing enabled what never started."""
    steps, drawn = trial.steps, trial.drawn
    for step in range(len(steps.number)):
        number, enabler = steps.number[step], steps.enabler[step]
        drawn.ready[number] = steps.ready[step]
        drawn.started[number] = steps.started[step]
        drawn.finished[number] = steps.finished[step]
        if steps.started[step] == NONE:
            enabler = NONE
        drawn.enabler[number] = steps.number[enabler] if enabler >= 0 else enabler
