"""What is to come: a heap, and beside it what was said in the order in which it comes.

Dates are said before anything happens, and mostly in their order. In a heap each of them would make all that
happens before it sift through more layers.
"""

from __future__ import annotations

from towerpace.compiling.jit import inline_part
from towerpace.engine.kernel.arrays import NOBODY, ClockArrays
from towerpace.engine.kernel.heaps import pop, push, whole

BEGIN, END, FIRST = 0, 1, 2  # of `in_turn`: where it begins, where it ends, and the first place there is


@inline_part
def put(clock: ClockArrays, event: int) -> None:
    """Have an event come."""
    in_turn, end = clock.in_turn, clock.in_turn[END]
    if end < len(in_turn) and (end == in_turn[BEGIN] or in_turn[end - 1] <= event):
        in_turn[end] = event
        in_turn[END] = end + 1
    elif not push(clock.future, whole(clock.future), event):
        clock.out_of_room[0] = True


@inline_part
def first_to_come(clock: ClockArrays) -> int:
    """The event that comes next, or NOBODY."""
    first = clock.future[1] if clock.future[0] > 0 else NOBODY
    begin = clock.in_turn[BEGIN]
    if begin < clock.in_turn[END]:
        first = min(first, clock.in_turn[begin])
    return int(first)


@inline_part
def take_first(clock: ClockArrays) -> int:
    """Take the event that comes next, of which there is one."""
    first, begin = first_to_come(clock), clock.in_turn[BEGIN]
    if begin == clock.in_turn[END] or clock.in_turn[begin] != first:
        return int(pop(clock.future, whole(clock.future)))
    clock.in_turn[BEGIN] = begin + 1
    if begin + 1 == clock.in_turn[END]:
        clock.in_turn[BEGIN] = clock.in_turn[END] = FIRST
    return first
